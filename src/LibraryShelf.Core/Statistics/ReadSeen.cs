using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>How often each thing of a kind was seen in some days, the most first.</summary>
public sealed class ReadSeen(ShelfDb db)
{
    /// <param name="kind">What was seen.</param>
    /// <param name="days">When.</param>
    /// <param name="most">No more than so many.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<IReadOnlyList<SeenTimes>> RunAsync(SightingKind kind, DayRange days, int most, CancellationToken cancellationToken) =>
        (await db.Sightings.Where(s => s.Kind == kind && s.Day >= days.First && s.Day <= days.Last).GroupBy(s => s.Word)
            .Select(g => new { Word = g.Key, Times = g.Sum(s => s.Times) }).OrderByDescending(s => s.Times).ThenBy(s => s.Word).Take(most).ToListAsync(cancellationToken))
            .ConvertAll(s => new SeenTimes(s.Word, s.Times));
}
