using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Statistics;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>Shares and uptakes of histories worked out by hand.</summary>
public sealed class VersionSumsTests
{
    private static readonly DateTimeZone Lisbon = DateTimeZoneProviders.Tzdb["Europe/Lisbon"];

    private static DateTimeOffset On(int day, int hour = 12) => new(2026, 3, day, hour, 0, 0, TimeSpan.Zero);

    /// <summary>
    /// Worked by hand: 1.0.0 came out on 1 March, 1.1.0 on the 10th. Ten people had 1.0.0 by then, and an eleventh has it from the 12th on, who counts for nothing
    /// here. Of the ten, two have 1.1.0 on the 10th, two on the 12th, one on the 15th: half, five, after 5 days. Four more on the 20th: nine, which is 90 %, after 10.
    /// </summary>
    [Fact]
    public async Task Half_after_five_days_and_ninety_percent_after_ten()
    {
        var finished = Enumerable.Range(1, 10).Select(p => new FinishedVersion(p, 1, 100, On(2)))
            .Append(new(11, 1, 100, On(12)))
            .Concat(new[] { (1, 10), (2, 10), (3, 12), (4, 12), (5, 15), (6, 20), (7, 20), (8, 20), (9, 20), (11, 13) }.Select(t => new FinishedVersion(t.Item1, 1, 110, On(t.Item2, 18)))).ToList();
        KnownVersion[] versions = [new(100, 1, "1.0.0", On(1)), new(110, 1, "1.1.0", On(10, 9))];
        var uptake = Assert.Single((await ReadAsync(finished, versions, new(2027, 4, 1))).Uptakes);
        Assert.Equal(("1.1.0", 10, 9, 5, 10), (uptake.Version.Number, uptake.Had, uptake.Have, uptake.DaysToHalf, uptake.DaysToMost));

        var shares = await ReadAsync(finished, versions, new(2026, 3, 20));
        Assert.Equal(["1: 0, 0", "2: 10, 0", "10: 8, 2", "12: 7, 4", "13: 6, 5", "20: 1, 10"],
            shares.Days.Where(d => d.Day.Day is 1 or 2 or 10 or 12 or 13 or 20).Select(d => $"{d.Day.Day}: {d.People[0]}, {d.People[1]}"));
        Assert.Equal("1.1.0", shares.Latest!.Number);
    }

    [Fact]
    public async Task Not_yet_is_an_answer_and_who_had_it_early_has_it_the_same_day()
    {
        FinishedVersion[] finished = [new(1, 1, 100, On(2)), new(2, 1, 100, On(2)), new(3, 1, 100, On(2)), new(1, 1, 110, On(5)), new(2, 1, 110, On(6))];
        KnownVersion[] versions = [new(100, 1, "1.0.0", On(1)), new(110, 1, "1.1.0", On(10))];
        var uptake = Assert.Single((await ReadAsync(finished, versions, new(2027, 4, 1))).Uptakes);
        Assert.Equal((3, 2, 0, null), (uptake.Had, uptake.Have, uptake.DaysToHalf, uptake.DaysToMost));
    }

    /// <summary>On 28 March the clocks of Lisbon go forward (IANA tz database, rule EU): 25 March 23:30 to 30 March 00:30, that day has 23 hours, and it is 5 days all the same.</summary>
    [Fact]
    public async Task Days_are_the_shops_also_where_one_is_short()
    {
        FinishedVersion[] finished = [new(1, 1, 100, new(2027, 3, 1, 0, 0, 0, TimeSpan.Zero)), new(1, 1, 110, new(2027, 3, 29, 23, 30, 0, TimeSpan.Zero))];
        KnownVersion[] versions = [new(100, 1, "1.0.0", null), new(110, 1, "1.1.0", new(2027, 3, 25, 23, 30, 0, TimeSpan.Zero))];
        Assert.Equal(5, Assert.Single((await ReadAsync(finished, versions, new(2027, 4, 1))).Uptakes).DaysToHalf);
    }

    private static async Task<VersionShares> ReadAsync(IReadOnlyList<FinishedVersion> finished, KnownVersion[] versions, LocalDate last)
    {
        await using var shelf = await TempShelf.MakeAsync();
        shelf.Clock.AdjustTime(new DateTimeOffset(2027, 4, 2, 0, 0, 0, TimeSpan.Zero));
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = Lisbon.Id });
        db.Libraries.Add(new Library { Id = 1, Slug = "box", Title = "Box" });
        foreach (var version in versions)
        {
            var release = new Release { Id = version.Id, LibraryId = 1, Number = version.Number };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(release.MoveTo(state, version.OutAt ?? finished.Min(f => f.At)));
            (release.SealedAt, release.PublishedAt) = (finished.Min(f => f.At), version.OutAt);
            db.Releases.Add(release);
        }
        var paths = VersionPaths.Of(finished, versions, Lisbon);
        db.PersonVersions.AddRange(paths);
        db.VersionMoves.AddRange(paths.GroupBy(v => (v.Day, v.FromReleaseId, v.ReleaseId, v.LatestThenId))
            .Select(g => new VersionMove { Day = g.Key.Day, LibraryId = 1, FromReleaseId = g.Key.FromReleaseId, ReleaseId = g.Key.ReleaseId, LatestThenId = g.Key.LatestThenId, People = g.Count() }));
        await db.SaveChangesAsync();
        return await new ReadVersionShares(db, shelf.Clock).RunAsync("box", _ => new DayRange(new(2026, 3, 1), last), 9, default);
    }
}
