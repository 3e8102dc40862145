using System.Data.Common;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class CountDownloadsTests
{
    private static async Task HandOverAsync(StockedShelf shelf, string downloadId, params (long From, long To)[] stretches)
    {
        foreach (var (from, to) in stretches)
        {
            shelf.Temp.Clock.Advance(TimeSpan.FromSeconds(10));
            await shelf.WithAsync(async db =>
            {
                await new RecordEvents(db).RunAsync([new DownloadEvent { DownloadId = downloadId, From = from, To = to, At = shelf.Now }], default);
                return 0;
            });
        }
    }

    private static Task<int> CountAsync(StockedShelf shelf, int pageSize = 2_000) =>
        shelf.WithAsync(db => new CountDownloads(db) { PageSize = pageSize }.RunAsync(default));

    private static Task<List<DownloadTally>> TalliesAsync(StockedShelf shelf) =>
        shelf.WithAsync(db => db.DownloadTallies.AsNoTracking().OrderBy(t => t.DownloadId).ToListAsync());

    [Fact]
    public async Task Finished_is_when_the_last_missing_byte_was_handed_over()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var id = (await shelf.MadeAsync()).DownloadId;
        await HandOverAsync(shelf, id, (0, 100), (200, shelf.Length));
        Assert.Equal(2, await CountAsync(shelf));
        var half = Assert.Single(await TalliesAsync(shelf));
        Assert.Null(half.FinishedAt);
        Assert.Equal(shelf.Length - 100, half.BytesCovered);

        await HandOverAsync(shelf, id, (90, 210));
        var finish = shelf.Now;
        await HandOverAsync(shelf, id, (0, shelf.Length)); // again, later: changes nothing
        await CountAsync(shelf);
        var whole = Assert.Single(await TalliesAsync(shelf));
        Assert.Equal((finish, shelf.Length), (whole.FinishedAt, whole.BytesCovered));
    }

    [Fact]
    public async Task Counting_twice_or_from_nothing_or_in_small_pages_gives_the_same()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var ids = new[] { (await shelf.MadeAsync()).DownloadId, (await shelf.MadeAsync()).DownloadId, (await shelf.MadeAsync()).DownloadId };
        await HandOverAsync(shelf, ids[0], (0, 50), (0, 50));
        await HandOverAsync(shelf, ids[1], (0, shelf.Length));
        await HandOverAsync(shelf, ids[0], (50, shelf.Length));
        Assert.Equal(4, await CountAsync(shelf));
        await HandOverAsync(shelf, ids[2], (10, 20));
        Assert.Equal(1, await CountAsync(shelf));
        Assert.Equal(0, await CountAsync(shelf));
        var first = await TalliesAsync(shelf);

        await shelf.WithAsync(db => db.DownloadTallies.ExecuteDeleteAsync());
        Assert.Equal(5, await CountAsync(shelf, pageSize: 1));
        Assert.Equivalent(first, await TalliesAsync(shelf), strict: true);
        Assert.Equal(2, first.Count(t => t.FinishedAt is not null));
    }

    [Fact]
    public async Task A_count_goes_on_where_the_last_one_stopped_and_an_older_tally_without_its_parts_is_read_from_the_events()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var id = (await shelf.MadeAsync()).DownloadId;
        await HandOverAsync(shelf, id, (0, 10), (20, 30));
        await CountAsync(shelf);
        Assert.Equal("0-10 20-30", Assert.Single(await TalliesAsync(shelf)).Parts);

        // Were the events before read again, the count would come to another figure now.
        await shelf.WithAsync(db => db.DownloadEvents.Where(e => e.From == 20).ExecuteUpdateAsync(s => s.SetProperty(e => e.To, 21)));
        await HandOverAsync(shelf, id, (10, 20));
        await CountAsync(shelf);
        Assert.Equal(("0-30", 30L), (Assert.Single(await TalliesAsync(shelf)).Parts, (await TalliesAsync(shelf))[0].BytesCovered));

        await shelf.WithAsync(db => db.DownloadTallies.ExecuteUpdateAsync(s => s.SetProperty(t => t.Parts, (string?)null)));
        await HandOverAsync(shelf, id, (40, shelf.Length));
        await CountAsync(shelf);
        Assert.Equal($"0-21 40-{shelf.Length}", Assert.Single(await TalliesAsync(shelf)).Parts);
        await HandOverAsync(shelf, id, (21, 40));
        await CountAsync(shelf);
        Assert.Equal((null, shelf.Now, shelf.Length), (Assert.Single(await TalliesAsync(shelf)).Parts, (await TalliesAsync(shelf))[0].FinishedAt, (await TalliesAsync(shelf))[0].BytesCovered));
    }

    [Fact]
    public async Task A_resume_proves_what_a_kill_left_uncommitted()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var id = (await shelf.MadeAsync()).DownloadId;
        // [0, 3000) went out, but the process was killed before its event was written; the client resumed at 3000.
        await HandOverAsync(shelf, id, (0, 3000), (3000, shelf.Length));
        await CountAsync(shelf);
        Assert.NotNull(Assert.Single(await TalliesAsync(shelf)).FinishedAt);
    }

    [Fact]
    public async Task Events_of_a_download_that_is_not_there_hold_nothing_up()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await HandOverAsync(shelf, "nobody", (0, 5));
        Assert.Equal(1, await CountAsync(shelf));
        Assert.Equal(0, await CountAsync(shelf));
    }

    /// <summary>More than are asked about in one question, so the first is met again before it would have been written.</summary>
    [Fact]
    public async Task One_persons_many_finished_downloads_in_one_page_keep_one_first()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var person = await shelf.PersonAsync("wren@example.org");
        await shelf.WithAsync(db =>
        {
            for (var i = 0; i < 1_100; i++)
            {
                var at = shelf.Now.AddMinutes(i % 7 - 60);
                db.Downloads.Add(new Download { Id = $"d{i}", ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, PersonId = person, Why = MayDownloadWhy.Free, StartedAt = at });
                db.DownloadEvents.Add(new DownloadEvent { DownloadId = $"d{i}", From = 0, To = shelf.Length, BeginsAnswer = true, At = at });
            }
            return db.SaveChangesAsync();
        });
        Assert.Equal(1_100, await CountAsync(shelf));
        Assert.Equal(shelf.Now.AddMinutes(-60), (await shelf.WithAsync(db => db.PersonFirsts.AsNoTracking().SingleAsync())).FreeAt);
    }

    /// <summary>A quiet shelf's downloads lie minutes apart; of a link of last week the first bytes beyond a probe come only now.</summary>
    [Fact]
    public async Task Starts_that_follow_each_other_are_one_question_and_one_of_last_week_is_another()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var person = await shelf.PersonAsync("wren@example.org");
        var starts = Enumerable.Range(0, 300).Select(i => shelf.Now.AddMinutes(-13 * i)).ToList();
        // Each twentieth is clicked twice, as is the one of last week.
        starts.AddRange(starts.Where((_, i) => i % 20 == 0).Append(shelf.Now.AddDays(-9)).Select(at => at.AddSeconds(-30)).ToList());
        starts.Add(shelf.Now.AddDays(-9));
        await shelf.WithAsync(db =>
        {
            foreach (var (at, i) in starts.Order().Select((at, i) => (at, i)))
            {
                db.Downloads.Add(new Download { Id = $"d{i:000}", ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, PersonId = person, Why = MayDownloadWhy.Free, StartedAt = at });
                db.DownloadEvents.Add(new DownloadEvent { DownloadId = $"d{i:000}", From = 0, To = shelf.Length, BeginsAnswer = true, At = at });
            }
            return db.SaveChangesAsync();
        });
        var asks = new Asks();
        await using (var db = shelf.Temp.Open(asks))
            await new CountDownloads(db).RunAsync(default);
        Assert.Equal(16, (await TalliesAsync(shelf)).Count(t => t.IsAgain));
        Assert.Equal(2, asks.AboutStarts);
    }

    private sealed class Asks : DbCommandInterceptor
    {
        public int AboutStarts { get; private set; }

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
        {
            AboutStarts += command.CommandText.Contains("StartedAt\" >=", StringComparison.Ordinal) ? 1 : 0;
            return base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
        }
    }
}
