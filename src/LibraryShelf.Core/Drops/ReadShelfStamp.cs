using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// What the shelf's page is made from, in a few figures: any change of the shop, a library, a version on the shelf or a drop gives others, because each counts its changes.
/// What the clock alone changes is not in it.
/// </summary>
public sealed class ReadShelfStamp(ShelfDb db)
{
    public async Task<string> RunAsync(CancellationToken cancellationToken)
    {
        // Numbers of rows that come and go at once would cancel out, so rows are told apart by their ids too.
        var shop = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => (int?)s.Revision).SingleOrDefaultAsync(cancellationToken);
        var libraries = await db.Libraries.GroupBy(_ => 1).Select(g => new { Rows = g.Count(), Ids = g.Sum(l => l.Id), Changes = g.Sum(l => (long)l.Revision) }).SingleOrDefaultAsync(cancellationToken);
        var versions = await db.Releases.Where(r => r.State == ReleaseState.Published).GroupBy(_ => 1)
            .Select(g => new { Rows = g.Count(), Ids = g.Sum(r => r.Id), Changes = g.Sum(r => (long)r.Revision), Last = g.Max(r => r.PublishedAt) }).SingleOrDefaultAsync(cancellationToken);
        var drops = await db.Drops.GroupBy(_ => 1).Select(g => new { Rows = g.Count(), Ids = g.Sum(d => d.Id), Changes = g.Sum(d => (long)d.Revision) }).SingleOrDefaultAsync(cancellationToken);
        return FormattableString.Invariant($"{shop} {libraries} {versions?.Rows} {versions?.Ids} {versions?.Changes} {versions?.Last?.ToUnixTimeMilliseconds()} {drops}");
    }
}
