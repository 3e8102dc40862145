using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>Reads the versions of drops, with what <see cref="DropReadiness"/> asks of each.</summary>
internal static class DropVersions
{
    /// <param name="db">Where to read.</param>
    /// <param name="drops">Ids of drops.</param>
    /// <param name="now">For whom a library is at this instant.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>By drop, each drop's versions by their place.</returns>
    public static async Task<ILookup<long, DropVersion>> LoadAsync(
        ShelfDb db, IReadOnlyCollection<long> drops, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var rows = await (
            from d in db.DropReleases
            where drops.Contains(d.DropId)
            join r in db.Releases on d.ReleaseId equals r.Id
            orderby d.DropId, d.Place, d.Id
            select new
            {
                d.DropId, r.Id, r.Library.Title, r.Library.Slug, r.Number, r.State,
                OpenFindings = db.SheetEntries.Count(e => e.ReleaseId == r.Id && e.Severity != Severity.Fine && e.ExcuseReason == null),
                IsDeclared = r.Library.DeclaredAt != null || db.Releases.Any(o => o.LibraryId == r.LibraryId && o.PublishedAt != null),
                Trouble = db.Archives.Where(a => a.ReleaseId == r.Id && a.Kind == ArchiveKind.Full && a.Sha256 == null).Select(a => a.Trouble).FirstOrDefault(),
                Audience = r.Library.Audiences.Where(a => a.DecidedAt <= now).OrderByDescending(a => a.DecidedAt).ThenByDescending(a => a.Id)
                    .Select(a => (Audience?)a.Audience).FirstOrDefault(),
            }).ToListAsync(cancellationToken);
        return rows.ToLookup(
            r => r.DropId,
            r => new DropVersion(r.Id, r.Title, r.Slug, r.Number, r.State, r.OpenFindings, r.IsDeclared, r.Trouble, r.Audience == Audience.Free));
    }
}
