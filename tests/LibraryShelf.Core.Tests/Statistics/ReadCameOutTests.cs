using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Statistics;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class ReadCameOutTests
{
    private static DateTimeOffset On(int day, int hour, int minute = 0) => new(2026, 7, day, hour, minute, 0, TimeSpan.Zero);

    /// <summary>Lisbon is an hour ahead of UTC in July: 23:30 of the 2nd is the 3rd there. A drop stands for what came with it on its day; what is withdrawn came out all the same, what is planned or a draft did not.</summary>
    [Fact]
    public async Task Drops_stand_for_their_versions_and_days_are_the_shops()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/Lisbon" });
        var (bells, kettles) = (new Library { Slug = "bells", Title = "Bells" }, new Library { Slug = "kettles", Title = "Kettles" });
        Release Out(Library library, string number, DateTimeOffset at)
        {
            var release = new Release { Number = number };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(release.MoveTo(state, at));
            library.Releases.Add(release);
            return release;
        }

        Out(bells, "1.0.0", On(1, 22, 59));
        Assert.True(Out(bells, "1.1.0", On(2, 23, 30)).MoveTo(ReleaseState.Withdrawn, On(4, 9)));
        var (dropped, earlier, last) = (Out(kettles, "1.0.0", On(5, 9)), Out(kettles, "0.9.0", On(3, 1)), Out(bells, "1.2.0", On(5, 8)));
        bells.Releases.Add(new Release { Number = "2.0.0" });
        db.AddRange(bells, kettles);
        var (drop, planned) = (new Drop { Month = new(2026, 7), State = DropState.Sent, SentAt = On(5, 9) }, new Drop { Month = new(2026, 8), State = DropState.Planned, DueAt = On(5, 9) });
        db.AddRange(drop, planned);
        await db.SaveChangesAsync();
        db.DropReleases.AddRange(new DropRelease { DropId = drop.Id, ReleaseId = dropped.Id }, new DropRelease { DropId = drop.Id, ReleaseId = earlier.Id }, new DropRelease { DropId = planned.Id, ReleaseId = last.Id });
        await db.SaveChangesAsync();

        async Task<string> ReadAsync(string? slug, int first, int to) => string.Join(" · ", (await new ReadCameOut(db).RunAsync(slug, new(new(2026, 7, first), new(2026, 7, to)), default))
            .Select(c => $"{c.Day.Day}: {(c.Month is null ? $"{c.Box} {c.Number}" : "drop")}"));

        // 0.9.0 was out two days before the month that has it.
        Assert.Equal("3: Bells 1.1.0 · 3: Kettles 0.9.0 · 5: drop · 5: Bells 1.2.0", await ReadAsync(null, 2, 5));
        Assert.Equal("1: Bells 1.0.0", await ReadAsync("", 1, 2));
        Assert.Equal("5: drop · 5: Bells 1.2.0", await ReadAsync("no-such-box", 4, 9));
        Assert.Equal("3: Kettles 0.9.0 · 5: Kettles 1.0.0", await ReadAsync("kettles", 1, 9));
    }
}
