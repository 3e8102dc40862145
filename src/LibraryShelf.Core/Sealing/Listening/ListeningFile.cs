using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>A file by which the version that its library's page plays can be heard, under its name; its bytes are a blob.</summary>
public sealed class ListeningFile
{
    public long ReleaseId { get; set; }
    public string Name { get; set; } = "";
    public string Sha256 { get; set; } = "";
    public long Size { get; set; }
}

public sealed class ListeningFileConfiguration : IEntityTypeConfiguration<ListeningFile>
{
    public void Configure(EntityTypeBuilder<ListeningFile> builder)
    {
        builder.HasKey(f => new { f.ReleaseId, f.Name });
        builder.Property(f => f.Name).HasMaxLength(64);
        builder.Property(f => f.Sha256).HasMaxLength(ContentHash.Digits);
        // The collector asks who uses a blob.
        builder.HasIndex(f => f.Sha256);
        builder.HasOne<Catalog.Release>().WithMany().HasForeignKey(f => f.ReleaseId).OnDelete(DeleteBehavior.Cascade);
    }
}
