using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// What a refused link was for. <paramref name="IsOnShelf"/>: the box has or had a published version, so that its page can be shown.
/// <paramref name="WithdrawnBecause"/> is "" unless the version was withdrawn. <paramref name="Month"/>: of a whole month, which ("December 2026"); the
/// version is then the withdrawn one, if one is.
/// </summary>
public sealed record LinkAbout(
    string Slug, string Title, string Number, bool IsOnShelf, DateTimeOffset MadeAt, DateTimeOffset StartBy, DateTimeOffset FinishBy, string WithdrawnBecause, string? Month);

/// <summary>For the page that stands in for the bytes of a refused link.</summary>
public sealed class ReadLinkAbout(ShelfDb db)
{
    /// <returns>Null when there is no such download.</returns>
    public async Task<LinkAbout?> RunAsync(string? downloadId, CancellationToken cancellationToken)
    {
        var dropId = await db.Downloads.Where(d => d.Id == downloadId).Select(d => d.DropId).SingleOrDefaultAsync(cancellationToken);
        var drop = dropId is null ? null : await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Id == dropId, cancellationToken);
        var withdrawn = dropId is { } month ? await MonthVersions.Withdrawn(db, month).Select(r => (long?)r.Id).FirstOrDefaultAsync(cancellationToken) : null;
        return await (
            from d in db.Downloads
            where d.Id == downloadId
            join r in db.Releases on withdrawn ?? d.ReleaseId equals r.Id
            join l in db.Libraries on r.LibraryId equals l.Id
            select new LinkAbout(l.Slug, l.Title, r.Number, db.Releases.Any(other => other.LibraryId == l.Id && other.PublishedAt != null),
                d.MadeAt, d.StartBy, d.FinishBy, r.WithdrawnBecause, drop == null ? null : drop.MonthName)).FirstOrDefaultAsync(cancellationToken);
    }
}
