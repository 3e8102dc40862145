using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>How often each thing of a kind was seen in some days, the most first.</summary>
public sealed class ReadSeen(ShelfDb db)
{
    public async Task<IReadOnlyList<SeenTimes>> RunAsync(SightingKind kind, DayRange days, CancellationToken cancellationToken) =>
        [.. (await db.Sightings.Where(s => s.Kind == kind && s.Day >= days.First && s.Day <= days.Last).GroupBy(s => s.Word)
            .Select(g => new { Word = g.Key, Times = g.Sum(s => s.Times) }).ToListAsync(cancellationToken))
            .Select(s => new SeenTimes(s.Word, s.Times)).OrderByDescending(s => s.Times).ThenBy(s => s.Word, StringComparer.Ordinal)];
}
