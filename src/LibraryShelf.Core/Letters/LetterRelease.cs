using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>A version as a letter tells of it.</summary>
/// <param name="Release">With its library, that one's audiences, and its players.</param>
/// <param name="Bytes">The whole library; null: not sealed yet.</param>
/// <param name="Update">From the version this person has; null: they have none, or an update saves nothing.</param>
internal sealed record LetterRelease(Release Release, long? Bytes, UpdateOffer? Update)
{
    /// <param name="db">Where to read.</param>
    /// <param name="ids">Which; the answer is in their order, without those that are not there.</param>
    /// <param name="personId">Who reads the letter; null: somebody who has nothing yet.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static async Task<IReadOnlyList<LetterRelease>> LoadAsync(ShelfDb db, IReadOnlyList<long> ids, long? personId, CancellationToken cancellationToken)
    {
        var rows = await db.Releases.AsNoTracking().Include(r => r.Players).Include(r => r.Library).ThenInclude(l => l.Audiences)
            .Where(r => ids.Contains(r.Id)).ToDictionaryAsync(r => r.Id, cancellationToken);
        var sizes = (await db.Archives.Where(a => ids.Contains(a.ReleaseId) && a.Kind == ArchiveKind.Full)
            .Select(a => new { a.Id, a.ReleaseId, a.Length }).ToListAsync(cancellationToken))
            .GroupBy(a => a.ReleaseId).ToDictionary(g => g.Key, g => g.MaxBy(a => a.Id)!.Length);
        var offers = personId is null ? UpdateOffers.None : await new ReadUpdateOffers(db).RunAsync(ids, personId, cancellationToken);
        return [.. ids.Where(rows.ContainsKey).Select(id => new LetterRelease(rows[id],
            sizes.TryGetValue(id, out var bytes) ? bytes : null, offers.ByRelease.GetValueOrDefault(id) is { IsYours: true } update ? update : null))];
    }
}
