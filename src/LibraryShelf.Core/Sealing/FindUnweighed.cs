using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>Libraries with two sealed versions between which no update was worked out yet: one version of each.</summary>
public sealed class FindUnweighed(ShelfDb db)
{
    public async Task<IReadOnlyList<long>> RunAsync(CancellationToken cancellationToken)
    {
        var libraries = await db.Releases
            .Where(r => r.SealedAt != null && db.Archives.Any(a => a.ReleaseId == r.Id && a.Kind == ArchiveKind.Full))
            .GroupBy(r => r.LibraryId).Select(g => new { g.Key, Versions = g.Count(), Any = g.Max(r => r.Id) }).ToListAsync(cancellationToken);
        var weighed = await (from u in db.PossibleUpdates
                             join r in db.Releases on u.ReleaseId equals r.Id
                             group u by r.LibraryId into g
                             select new { g.Key, Pairs = g.Count() }).ToDictionaryAsync(g => g.Key, g => g.Pairs, cancellationToken);
        return [.. libraries.Where(l => weighed.GetValueOrDefault(l.Key) < l.Versions * (l.Versions - 1) / 2).Select(l => l.Any)];
    }
}
