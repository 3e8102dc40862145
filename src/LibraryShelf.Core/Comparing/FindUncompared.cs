using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>
/// Which pairs want comparing: those asked for, and each checked or sealed version that, as it is now, was never held against the one before it
/// by this generation of the comparing code; on the shelf also against the next lower one there. Not those whose comparing the maker stopped. Those asked for come first, then
/// those not sealed.
/// </summary>
public sealed class FindUncompared(ShelfDb db)
{
    /// <param name="cancellationToken">Ends it.</param>
    /// <param name="ofRelease">The pairs in which this one is looked at; null: all of all libraries.</param>
    public async Task<IReadOnlyList<(long ReleaseId, long FromReleaseId)>> RunAsync(CancellationToken cancellationToken, long? ofRelease = null)
    {
        var libraryId = await LibraryOfAsync(ofRelease, cancellationToken);
        var rows = await db.ReleaseComparisons.Where(c => ofRelease == null || c.ReleaseId == ofRelease).Select(c => new { c.ReleaseId, c.FromReleaseId, c.AskedAt, c.OfFolders, c.Generation, c.StoppedAt }).ToListAsync(cancellationToken);
        var marked = await FolderMarks.LoadAllAsync(db, libraryId, cancellationToken);
        var done = rows.Where(r => (r.Generation == ComparedRelease.Generation || r.StoppedAt != null) && CurrentComparison.Holds(r.OfFolders, r.ReleaseId, r.FromReleaseId, marked))
            .Select(r => (r.ReleaseId, r.FromReleaseId)).ToHashSet();
        var asked = rows.Where(r => r.AskedAt is not null && marked.ContainsKey(r.ReleaseId)).Select(r => (r.ReleaseId, r.FromReleaseId));
        var releases = (await VersionBefore.LoadAsync(db, libraryId, cancellationToken)).FindAll(r => marked.ContainsKey(r.Id));
        var wanted = Pairs(releases, VersionBefore.Of).Union(Pairs(releases.FindAll(r => marked[r.Id].State == ReleaseState.Published), VersionBefore.Next));
        return [.. asked.Union(wanted.Where(pair => (ofRelease is null || pair.ReleaseId == ofRelease) && !done.Contains(pair)).OrderBy(pair => marked[pair.ReleaseId].State != ReleaseState.Checked))];
    }

    /// <summary>Null: of all. 0, which no library has: the release is gone.</summary>
    private async Task<long?> LibraryOfAsync(long? releaseId, CancellationToken cancellationToken) => releaseId is null
        ? null
        : await db.Releases.Where(r => r.Id == releaseId).Select(r => r.LibraryId).FirstOrDefaultAsync(cancellationToken);

    private static IEnumerable<(long ReleaseId, long FromReleaseId)> Pairs(
        List<NumberedRelease> among, Func<NumberedRelease, IEnumerable<NumberedRelease>, NumberedRelease?> before)
    {
        var siblings = among.ToLookup(r => r.LibraryId);
        return among.Select(r => (r.Id, From: before(r, siblings[r.LibraryId]))).Where(r => r.From is not null).Select(r => (r.Id, r.From!.Id));
    }
}
