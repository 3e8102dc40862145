using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Storage;

/// <summary>
/// A file's bytes, stored once under their SHA-256. A row exists only after the bytes are safely in the store, so a row
/// is a promise; bytes without a row are left-overs of a kill. Both are collected when nothing uses them (Sealing/CollectBlobs).
/// </summary>
public sealed class Blob
{
    /// <summary>SHA-256, 64 lower-case hex digits.</summary>
    public string Sha256 { get; set; } = "";
    public long Size { get; set; }
    /// <summary>CRC-32 (ISO 3309, as in zip), as an unsigned number.</summary>
    public uint Crc32 { get; set; }
    /// <summary>When the bytes came, or when a step last came to rely on them (<see cref="BlobRows"/>).</summary>
    public DateTimeOffset StoredAt { get; set; }
}

public sealed class BlobConfiguration : IEntityTypeConfiguration<Blob>
{
    public void Configure(EntityTypeBuilder<Blob> builder)
    {
        builder.HasKey(b => b.Sha256);
        builder.Property(b => b.Sha256).HasMaxLength(64);
        builder.Property(b => b.Crc32).HasConversion<long>();
    }
}
