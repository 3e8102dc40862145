using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>What is known now of how a version differs from the one before it.</summary>
internal static class CurrentComparison
{
    /// <summary>Null when it is the first, or was not compared since its folder was checked.</summary>
    public static async Task<ChangeSummary?> OfAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var siblings = await VersionBefore.LoadAsync(db, release.LibraryId, cancellationToken);
        if (siblings.Find(s => s.Id == release.Id) is not { } own || VersionBefore.Of(own, siblings) is not { } before)
            return null;
        var row = await db.ReleaseComparisons.Where(c => c.ReleaseId == release.Id && c.FromReleaseId == before.Id)
            .Select(c => new { c.Summary, c.ComparedAt }).FirstOrDefaultAsync(cancellationToken);
        return row is not null && Holds(release, row.ComparedAt) ? ChangeSummary.Read(row.Summary) : null;
    }

    /// <summary>Of a folder that was sent anew since, nothing is known until it is checked and compared again.</summary>
    public static bool Holds(Release release, DateTimeOffset? comparedAt) =>
        release.State != ReleaseState.Draft && (release.IsSealed || comparedAt >= release.CheckedAt);

    /// <summary>Why the number is held up: smaller than proposed and no reason given; null when all is well or nothing is known.</summary>
    public static string? NumberReason(string number, string why, ChangeSummary? summary) =>
        summary is not null && why.Length == 0 && ReleaseNumbers.ByPrecedence.Compare(number, summary.ProposedNumber) < 0
            ? $"{number} is smaller than {summary.ProposedNumber}, which what changed asks for. Take that number, or write why the smaller one is right."
            : null;
}
