using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Sealing;

public enum ArchiveKind { Full, Update, Drop }

/// <summary>
/// A recipe of an archive. The canonical recipe is itself a blob; its SHA-256 is both the blob's address and the archive's
/// strong ETag.
/// </summary>
public sealed class Archive
{
    public long Id { get; set; }
    public long ReleaseId { get; set; }
    public ArchiveKind Kind { get; set; }
    /// <summary>Of an update archive: the version that it makes into this one. Null in all others.</summary>
    public long? FromReleaseId { get; set; }
    /// <summary>Of a month's archive: its drop, of which <see cref="ReleaseId"/> is the first version. Null in all others.</summary>
    public long? DropId { get; set; }
    /// <summary>SHA-256 of the canonical recipe, lower-case hex.</summary>
    public string RecipeSha256 { get; set; } = "";
    /// <summary>Bytes of the archive.</summary>
    public long Length { get; set; }
    public string FileName { get; set; } = "";
    /// <summary>SHA-256 of the archive's bytes, lower-case hex; null until the digest job has read it through.</summary>
    public string? Sha256 { get; set; }
    /// <summary>Why it could not be read through, in words for whoever runs the shelf, until a later reading goes well; null when all is well.</summary>
    public string? Trouble { get; set; }
    /// <summary>The maker asked that it be read through once more; cleared by the reading.</summary>
    public DateTimeOffset? ReadAskedAt { get; set; }
    /// <summary>The maker stopped the reading; null: she did not, or asked for it since.</summary>
    public DateTimeOffset? ReadStoppedAt { get; set; }
    /// <summary>Of an update archive: when it was last asked for, to the day.</summary>
    public DateTimeOffset CreatedAt { get; set; }

    /// <summary>It is being read through, or is as soon as it is its turn. One that could not be read waits for the maker, or for the day's look (<see cref="Trouble"/>).</summary>
    public bool IsToBeRead => Sha256 is null && ReadStoppedAt is null && (Trouble is null || ReadAskedAt is not null);
}

public sealed class ArchiveConfiguration : IEntityTypeConfiguration<Archive>
{
    public void Configure(EntityTypeBuilder<Archive> builder)
    {
        builder.Property(a => a.Kind).HasConversion<string>();
        builder.HasIndex(a => a.ReleaseId);
        // Two who ask for the same update at once get the same row.
        builder.HasIndex(a => new { a.ReleaseId, a.FromReleaseId }).IsUnique().HasFilter("\"FromReleaseId\" IS NOT NULL");
        builder.HasIndex(a => a.DropId).IsUnique();
        builder.HasIndex(a => a.RecipeSha256);
    }
}
