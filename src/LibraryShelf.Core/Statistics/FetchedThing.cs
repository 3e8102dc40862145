using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>What was fetched, as figures name it: a version (the drop 0), or a whole month (the release 0), which is no one version's download and has lines of its own.</summary>
internal sealed record FetchedThing(long ReleaseId, long DropId)
{
    public static FetchedThing From(long releaseId, long dropId) => dropId == 0 ? new(releaseId, 0) : new(0, dropId);

    /// <summary>Of listeners, day by day. Of one box alone whole months are left out: they hold several.</summary>
    public static IQueryable<DayCount> Listeners(ShelfDb db, long? libraryId, DayRange days)
    {
        var counts = db.DayCounts.Where(c => c.Day >= days.First && c.Day <= days.Last && (c.By == FetchedBy.Free || c.By == FetchedBy.Members));
        return libraryId is { } id ? counts.Where(c => c.LibraryId == id && c.DropId == 0) : counts;
    }

    public static async Task<Dictionary<FetchedThing, (string Slug, string Title, string Number)>> NamesAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var names = await db.Releases.Select(r => new { r.Id, r.Library.Slug, r.Library.Title, r.Number })
            .ToDictionaryAsync(r => new FetchedThing(r.Id, 0), r => (r.Slug, r.Title, r.Number), cancellationToken);
        foreach (var drop in await db.Drops.Select(d => new { d.Id, d.Month }).ToListAsync(cancellationToken))
            names[new(0, drop.Id)] = ("", NumbersLine.WholeMonths, YearMonthPattern.Iso.Format(drop.Month));
        return names;
    }
}
