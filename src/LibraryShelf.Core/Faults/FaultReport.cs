using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Faults;

/// <summary>
/// Something that sounds wrong, as a person told it. Open while <see cref="SettledAt"/> is null; settled with a version that mends it, or put
/// away with words.
/// </summary>
public sealed class FaultReport
{
    public long Id { get; set; }
    public long LibraryId { get; set; }
    /// <summary>The version in which it was heard.</summary>
    public long ReleaseId { get; set; }
    /// <summary>Null: a visitor who is not signed in; nobody is told then.</summary>
    public long? PersonId { get; set; }
    /// <summary>MIDI 0 to 127; null when no key was named.</summary>
    public int? Key { get; set; }
    /// <summary>The recording in the library's folder, when one was named.</summary>
    public string? Path { get; set; }
    public string Words { get; set; } = "";
    public DateTimeOffset ReportedAt { get; set; }
    public DateTimeOffset? SettledAt { get; set; }
    /// <summary>The version that mends it; null when it was put away, or is open.</summary>
    public long? MendedInReleaseId { get; set; }
    /// <summary>What the maker answers; may be empty.</summary>
    public string Answer { get; set; } = "";
    /// <summary>When the mail to the reporter was written; null: not told, or nobody to tell.</summary>
    public DateTimeOffset? ToldAt { get; set; }
}

public sealed class FaultReportConfiguration : IEntityTypeConfiguration<FaultReport>
{
    public void Configure(EntityTypeBuilder<FaultReport> builder)
    {
        builder.HasIndex(f => new { f.LibraryId, f.SettledAt });
        builder.HasOne<Library>().WithMany().HasForeignKey(f => f.LibraryId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<Release>().WithMany().HasForeignKey(f => f.ReleaseId).OnDelete(DeleteBehavior.Cascade);
        // The version that mends may be a draft, which may be discarded: then the report is open again (DiscardDraft).
        builder.HasOne<Release>().WithMany().HasForeignKey(f => f.MendedInReleaseId).OnDelete(DeleteBehavior.SetNull);
        builder.HasOne<Person>().WithMany().HasForeignKey(f => f.PersonId).OnDelete(DeleteBehavior.SetNull);
    }
}
