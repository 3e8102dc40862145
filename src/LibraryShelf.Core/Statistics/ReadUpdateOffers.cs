using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>An update archive to offer. <paramref name="IsYours"/>: from the newest version this person has finished downloading.</summary>
public sealed record UpdateOffer(long FromReleaseId, string FromNumber, long Bytes, bool IsYours);

/// <param name="ByRelease">One a version at most: from the person's own version where that is lower, else from the version before.</param>
/// <param name="Earlier">For each version all that an update can be asked from, highest number first; also withdrawn ones.</param>
public sealed record UpdateOffers(IReadOnlyDictionary<long, UpdateOffer> ByRelease, IReadOnlyDictionary<long, IReadOnlyList<(long Id, string Number)>> Earlier)
{
    public static readonly UpdateOffers None = new(new Dictionary<long, UpdateOffer>(), new Dictionary<long, IReadOnlyList<(long, string)>>());
}

/// <summary>
/// Which updates a library's page offers, with their exact sizes. A size is that of the archive's row, which the first reader makes; no
/// recording is read. It stands in this step because what a person has finished downloading is counted here.
/// </summary>
public sealed class ReadUpdateOffers(ShelfDb db, FindUpdate findUpdate)
{
    private sealed record Version(long Id, string Number);

    /// <param name="libraryId">The library.</param>
    /// <param name="releaseIds">The versions to offer updates to.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="cancellationToken">Stops between two versions.</param>
    public async Task<UpdateOffers> RunAsync(long libraryId, IReadOnlyList<long> releaseIds, long? personId, CancellationToken cancellationToken)
    {
        var rows = await db.Releases.Where(r => r.LibraryId == libraryId && r.SealedAt != null)
            .Select(r => new { r.Id, r.Number, WasOut = r.PublishedAt != null }).ToListAsync(cancellationToken);
        var yours = await YoursAsync(libraryId, personId, cancellationToken);
        var offers = new Dictionary<long, UpdateOffer>();
        var earlier = new Dictionary<long, IReadOnlyList<(long, string)>>();
        foreach (var id in releaseIds)
        {
            if (rows.Find(r => r.Id == id) is not { } next)
                continue;
            // A version this person was given early is theirs to update from, though it never was on the shelf.
            var below = rows.Where(r => (r.WasOut || yours.Contains(r.Id)) && ReleaseNumbers.ByPrecedence.Compare(r.Number, next.Number) < 0)
                .OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence).Select(r => new Version(r.Id, r.Number)).ToList();
            earlier[id] = [.. below.Select(v => (v.Id, v.Number))];
            // Who has this very version already is shown what anybody is: the version before.
            var own = yours.Contains(id) ? null : below.Find(v => yours.Contains(v.Id));
            if ((own ?? below.FirstOrDefault()) is { } from && await FindAsync(id, from, own is not null, cancellationToken) is { } offer)
                offers[id] = offer;
        }
        return new UpdateOffers(offers, earlier);
    }

    private async Task<UpdateOffer?> FindAsync(long releaseId, Version from, bool isYours, CancellationToken cancellationToken) =>
        await findUpdate.RunAsync(releaseId, from.Id, cancellationToken) is FindUpdateOutcome.Found found
            ? new UpdateOffer(from.Id, from.Number, found.Archive.Length, isYours) : null;

    private async Task<HashSet<long>> YoursAsync(long libraryId, long? personId, CancellationToken cancellationToken) => personId is null ? []
        : await (from d in db.Downloads
                 where d.PersonId == personId && d.LibraryId == libraryId
                 join t in db.DownloadTallies on d.Id equals t.DownloadId
                 where t.FinishedAt != null
                 select d.ReleaseId).Distinct().ToHashSetAsync(cancellationToken);
}
