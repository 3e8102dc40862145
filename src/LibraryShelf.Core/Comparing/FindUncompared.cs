using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>
/// Which pairs want comparing: those asked for, and each checked or sealed version that was never held against the one before it (on the
/// shelf also: before it on the shelf), or was checked since.
/// </summary>
public sealed class FindUncompared(ShelfDb db)
{
    public async Task<IReadOnlyList<(long ReleaseId, long FromReleaseId)>> RunAsync(CancellationToken cancellationToken)
    {
        var rows = await db.ReleaseComparisons.Select(c => new { c.ReleaseId, c.FromReleaseId, c.AskedAt, c.ComparedAt }).ToListAsync(cancellationToken);
        var done = rows.Where(r => r.ComparedAt is not null).ToDictionary(r => (r.ReleaseId, r.FromReleaseId), r => r.ComparedAt!.Value);
        var releases = await db.Releases.Where(r => r.State != ReleaseState.Draft)
            .Select(r => new Candidate(new NumberedRelease(r.Id, r.LibraryId, r.Number, r.SealedAt != null), r.State == ReleaseState.Published, r.CheckedAt))
            .ToListAsync(cancellationToken);
        var past = releases.ConvertAll(r => r.Release.Id).ToHashSet();
        var asked = rows.Where(r => r.AskedAt is not null && past.Contains(r.ReleaseId)).Select(r => (r.ReleaseId, r.FromReleaseId));
        return [.. asked.Union(Missing(releases).Union(Missing(releases.FindAll(r => r.IsOnShelf))))];

        IEnumerable<(long, long)> Missing(List<Candidate> among)
        {
            var siblings = among.ToLookup(r => r.Release.LibraryId, r => r.Release);
            return among.Select(r => (r.Release, From: VersionBefore.Of(r.Release, siblings[r.Release.LibraryId]), r.CheckedAt))
                .Where(r => r.From is not null && !(done.TryGetValue((r.Release.Id, r.From.Id), out var at) && (r.Release.IsSealed || at >= r.CheckedAt)))
                .Select(r => (r.Release.Id, r.From!.Id));
        }
    }

    private sealed record Candidate(NumberedRelease Release, bool IsOnShelf, DateTimeOffset? CheckedAt);
}
