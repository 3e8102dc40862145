using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Checking;

/// <summary>A finding of a release's check sheet, with the maker's excuse if she gave one.</summary>
public sealed class SheetEntry
{
    public long Id { get; set; }
    public long ReleaseId { get; set; }
    public string Code { get; set; } = "";
    public Severity Severity { get; set; }
    /// <summary>The file it is about; null when it is about the library.</summary>
    public string? Path { get; set; }
    /// <summary>SHA-256 of that file's bytes: an excuse holds for these bytes and no others; null when it is about the library.</summary>
    public string? ContentSha256 { get; set; }
    /// <summary>A sentence that says what is wrong and what to do.</summary>
    public string Message { get; set; } = "";
    public string? ExcuseReason { get; set; }
    public DateTimeOffset? ExcusedAt { get; set; }
    public int Order { get; set; }

    /// <summary>Whether a reason may be given to leave it as it is.</summary>
    public bool MayBeExcused => Severity != Severity.Fine && FindingCodes.CanBeExcused(Code);

    public bool BlocksSealing => Severity == Severity.MustFix && ExcuseReason is null;
}

public sealed class SheetEntryConfiguration : IEntityTypeConfiguration<SheetEntry>
{
    public void Configure(EntityTypeBuilder<SheetEntry> builder)
    {
        builder.Property(e => e.Severity).HasConversion<string>();
        builder.HasIndex(e => e.ReleaseId);
    }
}
