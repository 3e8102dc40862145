using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Comparisons;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>What is known now of how a version differs from another one.</summary>
internal static class CurrentComparison
{
    /// <summary>Of a version and the one before it. Null when it is the first, or when what it is now was not compared yet.</summary>
    public static async Task<ChangeSummary?> OfAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var siblings = await VersionBefore.LoadAsync(db, release.LibraryId, cancellationToken);
        return siblings.Find(s => s.Id == release.Id) is { } own && VersionBefore.Of(own, siblings) is { } before
            && await RowAsync(db, release.Id, before.Id, cancellationToken) is ({ } row, true) ? ChangeSummary.Read(row.Summary) : null;
    }

    /// <summary>
    /// The pair's row, null when there is none, and whether it speaks of both versions as they are now. One that an older generation of the
    /// comparing code made holds until it is made anew: it speaks of the same folders.
    /// </summary>
    public static async Task<(ReleaseComparison? Row, bool Holds)> RowAsync(ShelfDb db, long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        var row = await db.ReleaseComparisons.AsNoTracking()
            .FirstOrDefaultAsync(c => c.ReleaseId == releaseId && c.FromReleaseId == fromReleaseId, cancellationToken);
        return row is null ? (null, false) : (row, Holds(row.OfFolders, releaseId, fromReleaseId, await FolderMarks.LoadAsync(db, [releaseId, fromReleaseId], cancellationToken)));
    }

    /// <summary>Whether what <paramref name="ofFolders"/> marks are the two versions as they are.</summary>
    public static bool Holds(string ofFolders, long releaseId, long fromReleaseId, IReadOnlyDictionary<long, MarkedRelease> releases) =>
        releases.TryGetValue(fromReleaseId, out var from) && releases.TryGetValue(releaseId, out var to)
        && FolderMarks.OfPair(from, to) is { } mark && mark == ofFolders;

    /// <summary>
    /// Why the number is held up: smaller than proposed and no reason given; null when all is well or nothing is known. A pre-release is as large
    /// as the number that it leads to: 2.0.0-rc.1 will do where 2.0.0 is proposed.
    /// </summary>
    /// <param name="number">The version's.</param>
    /// <param name="why">The reason given; "" none.</param>
    /// <param name="than">The number that was proposed when it was given; "" not known, then it counts.</param>
    /// <param name="summary">What is known now.</param>
    public static string? NumberReason(string number, string why, string than, ChangeSummary? summary) =>
        summary is not null && (why.Length == 0 || (than.Length > 0 && than != summary.ProposedNumber)) && IsSmaller(number, summary.ProposedNumber)
            ? T($"{number} is smaller than {summary.ProposedNumber}, which what changed asks for. Take that number, or write why the smaller one is right.")
            : null;

    public static bool IsSmaller(string number, string proposed) =>
        ReleaseNumbers.ByPrecedence.Compare(ReleaseNumber.TryParse(number)?.Core ?? number, proposed) < 0;
}
