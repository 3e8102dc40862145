using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Intake;

public enum UploadKind { File, Zip }

/// <summary>
/// A resumable upload (tus 1.0.0) into a draft. Its bytes so far are a file named after <see cref="Id"/>; that file's
/// length is the offset, so a kill between bytes and row can't make them disagree.
/// </summary>
public sealed class Upload
{
    /// <summary>128 random bits, base64url: the upload's address.</summary>
    public string Id { get; set; } = "";
    public long ReleaseId { get; set; }
    public UploadKind Kind { get; set; }
    /// <summary>Where the file goes in the library folder; for a zip its file name.</summary>
    public string Path { get; set; } = "";
    public long Length { get; set; }
    /// <summary>What the sender says the bytes hash to; null when it could not say.</summary>
    public string? ExpectedSha256 { get; set; }
    /// <summary>The sender's Upload-Metadata as it came; asked how far the upload is, the shelf gives it back (tus 1.0.0, creation).</summary>
    public string Metadata { get; set; } = "";
    public DateTimeOffset CreatedAt { get; set; }
    public DateTimeOffset? FinishedAt { get; set; }
    /// <summary>A zip's unpacking: why it was refused, in words for the maker.</summary>
    public string? Trouble { get; set; }
    /// <summary>A zip's unpacking is done (its files are in the draft).</summary>
    public DateTimeOffset? UnpackedAt { get; set; }
}

public sealed class UploadConfiguration : IEntityTypeConfiguration<Upload>
{
    public void Configure(EntityTypeBuilder<Upload> builder)
    {
        builder.Property(u => u.Kind).HasConversion<string>();
        builder.HasIndex(u => u.ReleaseId);
    }
}
