using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>Which boxes are whose who have a month: those that came out in it, and those of which its drop brought a version.</summary>
internal static class MonthBoxes
{
    /// <returns>Titles, by title.</returns>
    public static async Task<ILookup<YearMonth, string>> LoadAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var libraries = await db.Libraries.AsNoTracking().Include(l => l.Releases.Where(r => r.DropMonths != "" && r.PublishedAt != null))
            .Where(l => l.Month != null || l.Releases.Any(r => r.DropMonths != "" && r.PublishedAt != null))
            .OrderBy(l => l.Title).ToListAsync(cancellationToken);
        return libraries
            .SelectMany(l => l.Releases.SelectMany(r => r.MonthsIn(l)).Concat(l.Month is { } month ? [month] : []).Distinct().Select(m => (Month: m, l.Title)))
            .ToLookup(b => b.Month, b => b.Title);
    }
}
