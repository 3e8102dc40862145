using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// A line of a release's manifest: this path holds these bytes. In a draft the blob may still be on its way (no
/// <see cref="Storage.Blob"/> row yet); a sealed release's lines are never changed or deleted.
/// </summary>
public sealed class ReleaseFile
{
    public const string NotKnownYet = "";

    public long ReleaseId { get; set; }
    /// <summary>Path within the library folder, '/' between parts, no leading slash.</summary>
    public string Path { get; set; } = "";
    /// <summary>64 lower-case hex digits, or <see cref="NotKnownYet"/> until the bytes of a file come whose sender could not hash it.</summary>
    public string Sha256 { get; set; } = NotKnownYet;
    public long Size { get; set; }
}

public sealed class ReleaseFileConfiguration : IEntityTypeConfiguration<ReleaseFile>
{
    public void Configure(EntityTypeBuilder<ReleaseFile> builder)
    {
        builder.HasKey(f => new { f.ReleaseId, f.Path });
        builder.HasIndex(f => f.Sha256);
    }
}
