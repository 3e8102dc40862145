using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>An update archive to offer. <paramref name="IsYours"/>: from the version this person last finished downloading.</summary>
public sealed record UpdateOffer(long FromReleaseId, string FromNumber, long Bytes, bool IsYours);

/// <param name="ByRelease">One a version at most: from the person's own version where that is lower, else from the version before.</param>
/// <param name="Earlier">For each version all that an update can be asked from, highest number first; also withdrawn ones.</param>
public sealed record UpdateOffers(IReadOnlyDictionary<long, UpdateOffer> ByRelease, IReadOnlyDictionary<long, IReadOnlyList<(long Id, string Number)>> Earlier)
{
    public static readonly UpdateOffers None = new(new Dictionary<long, UpdateOffer>(), new Dictionary<long, IReadOnlyList<(long, string)>>());
}

/// <summary>
/// Which updates a page offers, with their sizes, from what was worked out when the versions were sealed: nothing is written, and no recipe
/// is read. It stands in this step because what a person has finished downloading is counted here.
/// </summary>
public sealed class ReadUpdateOffers(ShelfDb db)
{
    private sealed record Version(long Id, long LibraryId, string Number, bool WasOut);

    /// <param name="releaseIds">The versions to offer updates to, of any libraries.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="cancellationToken">Stops between two questions.</param>
    public async Task<UpdateOffers> RunAsync(IReadOnlyList<long> releaseIds, long? personId, CancellationToken cancellationToken)
    {
        var versions = await db.Releases
            .Where(r => r.SealedAt != null && db.Releases.Any(o => releaseIds.Contains(o.Id) && o.LibraryId == r.LibraryId))
            .Select(r => new Version(r.Id, r.LibraryId, r.Number, r.PublishedAt != null)).ToListAsync(cancellationToken);
        // One that saves nothing (everything was renamed) is no offer: the whole library is.
        var updates = (await db.PossibleUpdates.Where(u => releaseIds.Contains(u.ReleaseId) && u.Obstacle == null
            && db.Archives.Any(a => a.ReleaseId == u.ReleaseId && a.Kind == ArchiveKind.Full && a.Length > u.Bytes))
            .Select(u => new { u.ReleaseId, u.FromReleaseId, u.Bytes }).ToListAsync(cancellationToken)).ToDictionary(u => (u.ReleaseId, u.FromReleaseId), u => u.Bytes);
        var finished = await FinishedAsync(personId, [.. versions.Select(v => v.LibraryId).Distinct()], cancellationToken);
        var offers = new Dictionary<long, UpdateOffer>();
        var earlier = new Dictionary<long, IReadOnlyList<(long, string)>>();
        foreach (var next in versions.Where(v => releaseIds.Contains(v.Id)))
        {
            // A version this person was given early is theirs to update from, though it never was on the shelf.
            var below = versions
                .Where(v => v.LibraryId == next.LibraryId && (v.WasOut || finished.ContainsKey(v.Id)) && ReleaseNumbers.ByPrecedence.Compare(v.Number, next.Number) < 0)
                .OrderByDescending(v => v.Number, ReleaseNumbers.ByPrecedence).ToList();
            earlier[next.Id] = [.. below.Where(v => updates.ContainsKey((next.Id, v.Id))).Select(v => (v.Id, v.Number))];
            var own = Own(next, below, finished);
            if ((own ?? below.FirstOrDefault()) is { } from && updates.TryGetValue((next.Id, from.Id), out var bytes))
                offers[next.Id] = new UpdateOffer(from.Id, from.Number, bytes, own is not null);
        }
        return new UpdateOffers(offers, earlier);
    }

    /// <summary>
    /// The version this person has, as far as can be told: of those below the one that they finished last, be its number the highest or not.
    /// Null when they finished <paramref name="next"/> itself since: they are offered what anybody is.
    /// </summary>
    private static Version? Own(Version next, List<Version> below, Dictionary<long, DateTimeOffset> finished)
    {
        var last = below.Where(v => finished.ContainsKey(v.Id)).MaxBy(v => finished[v.Id]);
        return last is null || (finished.TryGetValue(next.Id, out var at) && at >= finished[last.Id]) ? null : last;
    }

    private async Task<Dictionary<long, DateTimeOffset>> FinishedAsync(long? personId, List<long> libraryIds, CancellationToken cancellationToken)
    {
        if (personId is null)
            return [];
        var rows = await (from d in db.Downloads
                          where d.PersonId == personId && libraryIds.Contains(d.LibraryId)
                          join t in db.DownloadTallies on d.Id equals t.DownloadId
                          where t.FinishedAt != null
                          select new { d.ReleaseId, At = t.FinishedAt!.Value }).ToListAsync(cancellationToken);
        // With a whole month each of its versions was finished.
        rows.AddRange(await (from f in MonthFetches.Of(db)
                             where f.PersonId == personId
                             join r in db.Releases on f.ReleaseId equals r.Id
                             where libraryIds.Contains(r.LibraryId)
                             join t in db.DownloadTallies on f.DownloadId equals t.DownloadId
                             where t.FinishedAt != null
                             select new { f.ReleaseId, At = t.FinishedAt!.Value }).ToListAsync(cancellationToken));
        return rows.GroupBy(r => r.ReleaseId).ToDictionary(g => g.Key, g => g.Max(r => r.At));
    }
}
