using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>A link of somebody's that opens now. <paramref name="FromNumber"/>: of an update, the version it is from; null: the whole library.</summary>
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
            where r.State != ReleaseState.Withdrawn || d.Why == MayDownloadWhy.Maker
            join l in db.Libraries on d.LibraryId equals l.Id
            join a in db.Archives on d.ArchiveId equals a.Id
            join f in db.Releases on d.FromReleaseId equals f.Id into olds
            from f in olds.DefaultIfEmpty()
            orderby d.MadeAt descending, d.Id
            select new { Download = d, a.Length, l.Slug, l.Title, r.Number, FromNumber = f == null ? null : f.Number }).ToListAsync(cancellationToken);
        var open = new List<MyLink>();
        foreach (var row in rows)
        {
            var d = row.Download;
            if (!(await uses.OfAsync(db, d, row.Length, cancellationToken)).IsUsedUp)
                open.Add(new(d.Id, row.Slug, row.Title, row.Number, row.FromNumber, d.MadeAt, d.StartedAt is null ? d.StartBy : d.FinishBy, d.StartedAt));
        }
        return open;
    }
}
