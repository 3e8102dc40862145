using LibraryShelf.Core.Catalog;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>A sum of <see cref="VersionMove"/>: of one box.</summary>
/// <param name="Day">Null: on any day before those asked for.</param>
/// <param name="From">0: they had none.</param>
/// <param name="To">Where they came to.</param>
/// <param name="People">How many.</param>
internal sealed record MoveSum(LocalDate? Day, long From, long To, int People);

/// <summary>What the moves of a box add up to: no database, no clock.</summary>
internal static class VersionSums
{
    /// <param name="moves">Up to the last day.</param>
    /// <param name="versions">Those that people may have, lowest number first.</param>
    /// <param name="first">First day.</param>
    /// <param name="last">Last day.</param>
    public static List<ShareDay> Days(IReadOnlyList<MoveSum> moves, IReadOnlyList<ShareVersion> versions, LocalDate first, LocalDate last)
    {
        var places = versions.Select((v, i) => (v.Id, i)).ToDictionary(v => v.Id, v => v.i);
        var people = new int[versions.Count];
        foreach (var move in moves.Where(m => m.Day is null))
            Move(move);
        var byDay = moves.Where(m => m.Day is not null).ToLookup(m => m.Day!.Value);
        var days = new List<ShareDay>();
        for (var day = first; day <= last; day = day.PlusDays(1))
        {
            foreach (var move in byDay[day])
                Move(move);
            days.Add(new(day, [.. people]));
        }
        return days;

        void Move(MoveSum move)
        {
            if (places.TryGetValue(move.To, out var to)) people[to] += move.People;
            if (places.TryGetValue(move.From, out var from)) people[from] -= move.People;
        }
    }

    /// <param name="moves">All of the box.</param>
    /// <param name="versions">All of it, with the instant each came out.</param>
    /// <param name="zone">The shop's.</param>
    /// <returns>Newest first, without those that came out while nobody had the box.</returns>
    public static List<VersionUptake> Uptakes(IReadOnlyList<VersionMove> moves, IReadOnlyList<KnownVersion> versions, DateTimeZone zone)
    {
        var ranks = versions.OrderBy(v => v.Number, ReleaseNumbers.ByPrecedence).Select((v, rank) => (v.Id, rank)).ToDictionary(v => v.Id, v => v.rank);
        var outAt = versions.ToDictionary(v => v.Id, v => v.OutAt);
        return [.. versions.Where(v => v.OutAt is not null).OrderByDescending(v => v.OutAt).ThenByDescending(v => ranks[v.Id]).Select(UptakeOf).Where(u => u.Had > 0)];

        VersionUptake UptakeOf(KnownVersion version)
        {
            // Who had any of the box by then: those of whom a version that came out before it, or none, was the latest when they first had one.
            var theirs = moves.Where(m => m.LatestThenId == 0 || outAt.GetValueOrDefault(m.LatestThenId) < version.OutAt).ToList();
            var had = theirs.Where(m => m.FromReleaseId == 0).Sum(m => m.People);
            var came = Instant.FromDateTimeOffset(version.OutAt!.Value).InZone(zone).Date;
            var reached = theirs.Where(m => ranks.GetValueOrDefault(m.ReleaseId, -1) >= ranks[version.Id] && ranks.GetValueOrDefault(m.FromReleaseId, -1) < ranks[version.Id])
                .GroupBy(m => m.Day, m => m.People).OrderBy(g => g.Key).Select(g => (Day: g.Key, People: g.Sum())).ToList();
            return new(new(version.Id, version.Number, came), had, reached.Sum(r => r.People), DaysTo(5), DaysTo(9));

            int? DaysTo(int inTen)
            {
                long sum = 0;
                foreach (var (day, people) in reached)
                {
                    sum += people;
                    // Who had it early had it before it came out.
                    if (sum * 10 >= (long)had * inTen)
                        return Math.Max(0, Period.DaysBetween(came, day));
                }
                return null;
            }
        }
    }
}
