using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Comparing;

/// <summary>
/// A version held against another one of its library. <see cref="AskedAt"/> without <see cref="ComparedAt"/> is a wish; the outcome holds for
/// exactly the two folders that <see cref="OfFolders"/> marks.
/// </summary>
public sealed class ReleaseComparison
{
    /// <summary>The version that is looked at.</summary>
    public long ReleaseId { get; set; }
    /// <summary>The version it is held against, usually the one before.</summary>
    public long FromReleaseId { get; set; }
    public DateTimeOffset? AskedAt { get; set; }
    public DateTimeOffset? ComparedAt { get; set; }
    /// <summary>The maker stopped the comparing of the folders that <see cref="OfFolders"/> marks; null: she did not, or asked for it or had it done since.</summary>
    public DateTimeOffset? StoppedAt { get; set; }
    /// <summary>Marks what both versions were (<see cref="FolderMarks.OfPair"/>) when outcome or trouble came of them, or when it was stopped; "" before.</summary>
    public string OfFolders { get; set; } = "";
    /// <summary>The generation of the comparing code that last held them against each other (<see cref="ComparedRelease.Generation"/>); 0 before.</summary>
    public int Generation { get; set; }
    /// <summary>The outcome, <see cref="Packaging.Comparisons.CompareJson"/>; "" before there is one.</summary>
    public string Outcome { get; set; } = "";
    /// <summary>What the version story draws of it, <see cref="ChangeSummary"/>; "" before there is an outcome.</summary>
    public string Summary { get; set; } = "";
    /// <summary>Why it could not be done, in words for the maker; null when all is well.</summary>
    public string? Trouble { get; set; }
}

public sealed class ReleaseComparisonConfiguration : IEntityTypeConfiguration<ReleaseComparison>
{
    public void Configure(EntityTypeBuilder<ReleaseComparison> builder)
    {
        builder.HasKey(c => new { c.ReleaseId, c.FromReleaseId });
        builder.HasOne<Catalog.Release>().WithMany().HasForeignKey(c => c.ReleaseId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<Catalog.Release>().WithMany().HasForeignKey(c => c.FromReleaseId).OnDelete(DeleteBehavior.Cascade);
    }
}
