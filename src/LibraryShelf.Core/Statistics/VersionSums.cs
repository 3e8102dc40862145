using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>So many more, or fewer, people have a version as their newest from this day on.</summary>
internal sealed record DayMove(LocalDate Day, long ReleaseId, int People);

/// <summary>What the moves of a box add up to: no database, no clock.</summary>
internal static class VersionSums
{
    /// <param name="now">How many have each version, all moves done.</param>
    /// <param name="moves">All since the first day, also those after the last.</param>
    /// <param name="versions">Those that people may have.</param>
    /// <param name="range">Which days.</param>
    public static List<ShareDay> Days(IReadOnlyDictionary<long, int> now, IReadOnlyList<DayMove> moves, IReadOnlyList<ShareVersion> versions, DayRange range)
    {
        var places = versions.Select((v, i) => (v.Id, i)).ToDictionary(v => v.Id, v => v.i);
        var people = versions.Select(v => now.GetValueOrDefault(v.Id)).ToArray();
        var byDay = moves.ToLookup(m => m.Day);
        foreach (var day in byDay.Where(d => d.Key > range.Last))
            Undo(day);
        var days = new List<ShareDay>();
        for (var day = range.Last; day >= range.First; day = day.PlusDays(-1))
        {
            // What is counted between two questions may be in the one and not in the other.
            days.Add(new(day, Array.ConvertAll(people, p => Math.Max(0, p))));
            Undo(byDay[day]);
        }
        days.Reverse();
        return days;

        void Undo(IEnumerable<DayMove> done)
        {
            foreach (var move in done)
                if (places.TryGetValue(move.ReleaseId, out var place)) people[place] -= move.People;
        }
    }

    /// <param name="version">It came out.</param>
    /// <param name="had">How many had the box then.</param>
    /// <param name="reached">How many of them came to have it or a higher one, by day.</param>
    public static VersionUptake Uptake(ShareVersion version, int had, IReadOnlyList<(LocalDate Day, int People)> reached)
    {
        return new(version, had, reached.Sum(r => r.People), DaysTo(5), DaysTo(9));

        int? DaysTo(int inTen)
        {
            long sum = 0;
            foreach (var (day, people) in reached.OrderBy(r => r.Day))
            {
                sum += people;
                // Who was given it early had it before it came out.
                if (sum * 10 >= (long)had * inTen)
                    return Math.Max(0, Period.DaysBetween(version.OutOn!.Value, day));
            }
            return null;
        }
    }
}
