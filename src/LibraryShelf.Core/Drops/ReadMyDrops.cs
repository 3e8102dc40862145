using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>A version of a drop, for one person.</summary>
/// <param name="MayHave">By the rule that guards each download.</param>
/// <param name="IsWithdrawn">Also where its maker, who reads this, may still have it: no month as one archive is made with it.</param>
public sealed record MyDropVersion(string Library, string Slug, string Number, bool MayHave, bool IsWithdrawn);

/// <summary>A drop that is out, for one person.</summary>
/// <param name="IsNow">It is this month's.</param>
/// <param name="Bytes">Its versions' whole libraries together, as sealed; the month as one archive is a little larger or smaller.</param>
public sealed record MyDrop(long DropId, YearMonth Month, string Title, string Note, DateTimeOffset SentAt, bool IsNow, IReadOnlyList<MyDropVersion> Versions, long Bytes)
{
    /// <summary>Every version that went out with it is open to them, so that the month can be had as one archive.</summary>
    public bool IsWhole => Versions.Count > 0 && Versions.All(v => v is { MayHave: true, IsWithdrawn: false });
}

/// <summary>Reads the drops that are out with at least one version this person may have, newest first.</summary>
public sealed class ReadMyDrops(ShelfDb db, TimeProvider clock)
{
    public async Task<IReadOnlyList<MyDrop>> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var drops = await db.Drops.AsNoTracking().Where(d => d.State == DropState.Sent).OrderByDescending(d => d.Month).ToListAsync(cancellationToken);
        if (drops.Count == 0)
            return [];
        var month = DropWhen.MonthAt(now, ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? ""));
        var person = await PersonFacts.LoadAsync(db, personId, now, cancellationToken);
        var rows = await db.DropReleases.AsNoTracking().Where(r => db.Drops.Any(d => d.Id == r.DropId && d.State == DropState.Sent)).OrderBy(r => r.Place).ThenBy(r => r.Id).ToListAsync(cancellationToken);
        var ids = rows.ConvertAll(r => r.ReleaseId);
        var releases = await db.Releases.AsNoTracking().AsSplitQuery().Include(r => r.Library).ThenInclude(l => l.Audiences).Where(r => ids.Contains(r.Id)).ToDictionaryAsync(r => r.Id, cancellationToken);
        var bytes = await db.Archives.Where(a => a.Kind == ArchiveKind.Full && ids.Contains(a.ReleaseId))
            .GroupBy(a => a.ReleaseId).Select(g => new { g.Key, Length = g.Max(a => a.Length) }).ToDictionaryAsync(a => a.Key, a => a.Length, cancellationToken);
        return [.. drops.Select(Of).Where(d => d.Versions.Any(v => v.MayHave))];

        MyDrop Of(Drop drop)
        {
            var own = rows.FindAll(r => r.DropId == drop.Id && releases.ContainsKey(r.ReleaseId)).ConvertAll(r => releases[r.ReleaseId]);
            return new MyDrop(
                drop.Id, drop.Month, drop.Title, drop.Note, drop.SentAt!.Value, drop.Month == month,
                own.ConvertAll(r => new MyDropVersion(r.Library.Title, r.Library.Slug, r.Number, MayDownload.IsYes(person.MayHave(r, r.Library, now)), r.State == ReleaseState.Withdrawn)), own.Sum(r => bytes.GetValueOrDefault(r.Id)));
        }
    }
}
