using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>A link of somebody's that opens now; of a whole month the title says which, and there is no number. <paramref name="FromNumber"/>: of an update, the version it is from; null: the whole library.</summary>
/// <param name="WorksUntil">Not started: until when it may start; started: until when it may be resumed.</param>
public sealed record MyLink(
    string DownloadId, string Slug, string Title, string Number, string? FromNumber, DateTimeOffset MadeAt, DateTimeOffset WorksUntil, DateTimeOffset? StartedAt);

/// <summary>The links of one person that open now, newest first, by the same reasons as <see cref="OpenLink"/> refuses others.</summary>
public sealed class ReadMyLinks(ShelfDb db, LinkUses uses, TimeProvider clock)
{
    public async Task<IReadOnlyList<MyLink>> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var rows = await (
            from d in db.Downloads.AsNoTracking().Where(d => d.PersonId == personId).Where(Download.IsOpenAt(clock.GetUtcNow()))
            join r in db.Releases on d.ReleaseId equals r.Id
            where d.Why == MayDownloadWhy.Maker || (r.State != ReleaseState.Withdrawn
                && (d.DropId == null || !db.DropReleases.Any(m => m.DropId == d.DropId && db.Releases.Any(v => v.Id == m.ReleaseId && v.State == ReleaseState.Withdrawn))))
            join l in db.Libraries on d.LibraryId equals l.Id
            join a in db.Archives on d.ArchiveId equals a.Id
            join f in db.Releases on d.FromReleaseId equals f.Id into olds
            from f in olds.DefaultIfEmpty()
            join p in db.Drops on d.DropId equals (long?)p.Id into drops
            from p in drops.DefaultIfEmpty()
            orderby d.MadeAt descending, d.Id
            select new { Download = d, a.Length, l.Slug, l.Title, r.Number, FromNumber = f == null ? null : f.Number, Drop = p }).ToListAsync(cancellationToken);
        var open = new List<MyLink>();
        foreach (var row in rows)
        {
            var d = row.Download;
            if (!(await uses.OfAsync(db, d, row.Length, cancellationToken)).IsUsedUp)
                open.Add(new(d.Id, row.Slug, row.Drop?.WholeName ?? row.Title, row.Drop is null ? row.Number : "", row.FromNumber, d.MadeAt, d.StartedAt is null ? d.StartBy : d.FinishBy, d.StartedAt));
        }
        return open;
    }
}
