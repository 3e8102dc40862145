using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class ReadLibraryNumbersTests
{
    private static readonly LocalDate Today = new(2026, 11, 25);

    private static async Task<LibraryNumbers> ReadAsync(TempShelf shelf, int days = 30)
    {
        await using var db = shelf.Open();
        return await new ReadLibraryNumbers(db, shelf.Clock).RunAsync(today => DayRange.Read(null, null, today, days), most: 100, default);
    }

    private static async Task<(long Kettle, long Roof)> StockAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        var (kettle, roof) = (new Library { Slug = "kettle", Title = "Kettle Choir" }, new Library { Slug = "roof", Title = "Tin Roof" });
        kettle.Releases.AddRange([new Release { Number = "1.10.0" }, new Release { Number = "1.9.0" }]);
        db.Libraries.AddRange(kettle, roof);
        await db.SaveChangesAsync();
        foreach (var (release, length) in new[] { (kettle.Releases[0], 1_900L), (kettle.Releases[1], 1_800L) })
            db.Archives.Add(new Archive { ReleaseId = release.Id, RecipeSha256 = $"{length}", Length = length, FileName = "k.zip" });
        await db.SaveChangesAsync();
        return (kettle.Id, roof.Id);
    }

    private static async Task CountAsync(TempShelf shelf, params DayCount[] counts)
    {
        await using var db = shelf.Open();
        db.DayCounts.AddRange(counts);
        await db.SaveChangesAsync();
    }

    [Fact]
    public async Task Wanted_updated_and_never_finished_are_told_apart()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (kettle, roof) = await StockAsync(shelf);
        // Seven days ago somebody may have begun at its last instant, which is not a week ago before midnight.
        var week = Today.PlusDays(-8);
        await CountAsync(shelf,
            new() { Day = week, LibraryId = kettle, ReleaseId = 1, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 10, Finished = 6, Ended = 7, Resumes = 3, Left = 3, LeftAgain = 1, LeftCovered = 950, LeftLength = 5_700 },
            new() { Day = Today, LibraryId = kettle, ReleaseId = 1, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 5, Finished = 2, Ended = 1, Left = 4, LeftAgain = 4, LeftCovered = 1, LeftLength = 7_600 },
            new() { Day = Today.PlusDays(-7), LibraryId = kettle, ReleaseId = 1, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 50, Ended = 1 },
            new() { Day = week, LibraryId = kettle, ReleaseId = 1, Kind = FetchedKind.Update, By = FetchedBy.Members, Started = 4, Finished = 4, Ended = 3, Left = 1, LeftAgain = 1, LeftCovered = 50, LeftLength = 100 },
            new() { Day = week, LibraryId = kettle, ReleaseId = 1, Kind = FetchedKind.Whole, By = FetchedBy.Robots, Started = 99, Finished = 99 },
            new() { Day = week, LibraryId = roof, ReleaseId = 9, Kind = FetchedKind.Whole, By = FetchedBy.Maker, Started = 99, Finished = 99 },
            // A whole month is one download of that month and of none of its boxes.
            new() { Day = week, LibraryId = kettle, ReleaseId = 1, DropId = 7, Kind = FetchedKind.Month, By = FetchedBy.Members, Started = 99, Finished = 99 },
            new() { Day = Today.PlusDays(-30), LibraryId = kettle, ReleaseId = 1, Kind = FetchedKind.Whole, By = FetchedBy.Free, Started = 99, Finished = 99 });
        var boxes = (await ReadAsync(shelf)).Boxes;
        Assert.Equal(
            [new BoxNumbers(kettle, "kettle", "Kettle Choir", 1_900, Wanted: 8, Updated: 4, Begun: 14, NotFinished: 4, Resumes: 3) { Free = new(8, 0, 10, 3), Left = new(4, 2, 1_000, 5_800), Whole = new(10, 3, 3) { Left = new(3, 1, 950, 5_700) } }, new BoxNumbers(roof, "roof", "Tin Roof", 0, 0, 0, 0, 0, 0)],
            boxes);
        Assert.Null(boxes[1].PercentNotFinished);
        Assert.Equal(28.6, boxes[0].PercentNotFinished!.Value, 1);
        // 1,000 of 5,800.
        Assert.Equal(17.2, boxes[0].Left.Percent!.Value, 1);
        Assert.Null(boxes[1].Left.Percent);
    }

    [Fact]
    public async Task Hosts_and_words_are_summed_over_the_days()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (kettle, _) = await StockAsync(shelf);
        await using (var db = shelf.Open())
        {
            foreach (var (day, kind, library, word, times) in new[]
            {
                (0, SightingKind.Referrer, kettle, "reeds.example", 2), (-1, SightingKind.Referrer, kettle, "reeds.example", 3), (0, SightingKind.Referrer, 0L, "reeds.example", 1),
                (0, SightingKind.Search, 0L, "bowed saw", 1), (-29, SightingKind.Search, 0L, "zither", 4), (-30, SightingKind.Search, 0L, "zither", 9), (0, SightingKind.Answer, 0L, "206", 8),
            })
                db.Sightings.Add(new Sighting { Day = Today.PlusDays(day), Kind = kind, LibraryId = library, Word = word, Times = times });
            await db.SaveChangesAsync();
            foreach (var (day, kind) in (await db.Sightings.ToListAsync()).Select(s => (s.Day, s.Kind)).Distinct())
                await SeenMonths.AddUpAsync(db, day, kind, default);
        }
        var numbers = await ReadAsync(shelf);
        Assert.Equal([new SeenFrom("reeds.example", kettle, "Kettle Choir", 5), new SeenFrom("reeds.example", 0, "", 1)], numbers.Referrers);
        Assert.Equal([new SeenTimes("zither", 4), new SeenTimes("bowed saw", 1)], numbers.Searches);
        await using var open = shelf.Open();
        ReadLibrariesBeside BesideOf(ShelfDb db) => new(db, shelf.Clock, Options.Create(new ShelfSettings()));
        var cut = await new ReadLibraryNumbers(open, shelf.Clock).RunAsync(_ => numbers.Range, most: 1, default);
        Assert.Equal((numbers.Referrers[0], true, numbers.Searches[0], true), (Assert.Single(cut.Referrers), cut.AreMoreReferrers, Assert.Single(cut.Searches), cut.AreMoreSearches));
        Assert.Equal((false, false), (numbers.AreMoreReferrers, numbers.AreMoreSearches));
        // The days before: what these days show, in their order, and all that was seen then.
        var both = await BesideOf(open).RunAsync(numbers, new(Today.PlusDays(-59), Today.PlusDays(-30)), default);
        Assert.Equal([new SeenFrom("reeds.example", kettle, "Kettle Choir", 0), new SeenFrom("reeds.example", 0, "", 0)], both.Those.Referrers);
        Assert.Equal([new SeenTimes("zither", 9), new SeenTimes("bowed saw", 0)], both.Those.Searches);
        Assert.Equal((new SeenInBoth(6, 0), new SeenInBoth(5, 9), true), (both.Referrers, both.Searches, both.AreWordsKept));
        // Thirteen months ago is 25 October 2025; of the day before nothing is kept, on a shelf that was there then.
        Assert.True((await BesideOf(open).RunAsync(numbers, new(new(2025, 10, 1), new(2025, 10, 30)), default)).AreWordsKept);
        open.DayRolls.Add(new DayRoll { Day = new(2024, 1, 1), Changed = 1, Rolled = 1 });
        await open.SaveChangesAsync();
        foreach (var (first, isKept) in new[] { (new LocalDate(2025, 10, 25), true), (new LocalDate(2025, 10, 24), false) })
            Assert.Equal(isKept, (await BesideOf(open).RunAsync(numbers, new(first, first.PlusDays(29)), default)).AreWordsKept);
        var same = (await BesideOf(open).RunAsync(numbers, numbers.Range, default)).Those;
        Assert.Equal(numbers.Referrers, same.Referrers);
        Assert.Equal(numbers.Searches, same.Searches);
        Assert.Equal([new SeenTimes("206", 8)], await new ReadSeen(open).RunAsync(SightingKind.Answer, numbers.Range, most: 1, default));
    }

    [Theory]
    [InlineData("0.005", 5_000L)]
    [InlineData(" 0,09 ", 90_000L)]
    [InlineData("0", 0L)]
    [InlineData("1000", 1_000_000_000L)]
    [InlineData("1000.000001", null)]
    [InlineData("0.0000001", null)]
    [InlineData("-1", null)]
    [InlineData("1e3", null)]
    [InlineData("five", null)]
    public void A_price_is_kept_in_millionths(string typed, long? millionths) => Assert.Equal(millionths, SetGigabytePrice.Read(typed));

    // 1.7 GB × 2,000 members at 0.005 a gigabyte are 17, by hand.
    [Fact]
    public void Bytes_cost_what_the_maker_says() => Assert.Equal(17m, new GigabytePrice(5_000, "EUR").Of(1_700_000_000L * 2_000));
}
