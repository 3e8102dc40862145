using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// What a refused link was for. <paramref name="IsOnShelf"/>: the box has or had a published version, so that its page can be shown.
/// <paramref name="WithdrawnBecause"/> is "" unless the version was withdrawn.
/// </summary>
public sealed record LinkAbout(
    string Slug, string Title, string Number, bool IsOnShelf, DateTimeOffset MadeAt, DateTimeOffset StartBy, DateTimeOffset FinishBy, string WithdrawnBecause);

/// <summary>For the page that stands in for the bytes of a refused link.</summary>
public sealed class ReadLinkAbout(ShelfDb db)
{
    /// <returns>Null when there is no such download.</returns>
    public Task<LinkAbout?> RunAsync(string? downloadId, CancellationToken cancellationToken) =>
        (from d in db.Downloads
         where d.Id == downloadId
         join r in db.Releases on d.ReleaseId equals r.Id
         join l in db.Libraries on d.LibraryId equals l.Id
         select new LinkAbout(l.Slug, l.Title, r.Number,
             db.Releases.Any(other => other.LibraryId == l.Id && other.PublishedAt != null), d.MadeAt, d.StartBy, d.FinishBy, r.WithdrawnBecause))
        .FirstOrDefaultAsync(cancellationToken);
}
