using LibraryShelf.Core.Downloads;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class LinkUseTests
{
    private static Task<int> EventAsync(StockedShelf shelf, string id, long from, long to, bool isEvidence = false) => shelf.WithAsync(db =>
    {
        db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = from, To = to, IsEvidence = isEvidence, At = shelf.Now });
        return db.SaveChangesAsync();
    });

    private static async Task<OpenLinkOutcome.Open> OpenAsync(StockedShelf shelf, MakeLinkOutcome.Made link) =>
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(link.Path));

    [Fact]
    public async Task A_link_is_used_up_when_it_has_handed_over_its_archive_so_many_times()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        shelf.Settings.Links.MostDownloads = 3;
        var (link, other) = (await shelf.MadeAsync(), await shelf.MadeAsync());
        var use = (await OpenAsync(shelf, link)).Use;
        use.Add((3 * shelf.Length) - 1);
        await OpenAsync(shelf, link);
        use.Add(1);
        Assert.Equal(LinkTrouble.UsedUp, await shelf.TroubleAsync(link.Path));
        Assert.Equal(LinkTrouble.UsedUp, use.TryBegin(1));
        await OpenAsync(shelf, other);
    }

    [Fact]
    public async Task After_a_restart_the_events_say_how_much_and_evidence_is_no_traffic()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        shelf.Settings.Links.MostDownloads = 2;
        var link = await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(link.DownloadId));
        await EventAsync(shelf, link.DownloadId, 0, shelf.Length);
        for (var i = 0; i < 20; i++) await EventAsync(shelf, link.DownloadId, 0, shelf.Length, isEvidence: true);
        await EventAsync(shelf, "another", 0, 9 * shelf.Length);
        await EventAsync(shelf, link.DownloadId, 0, shelf.Length - 1);
        shelf.Restart();
        await OpenAsync(shelf, link);
        await EventAsync(shelf, link.DownloadId, 0, 1);
        shelf.Restart();
        Assert.Equal(LinkTrouble.UsedUp, await shelf.TroubleAsync(link.Path));
    }

    [Fact]
    public async Task Answers_are_bounded_too_however_few_bytes_each_has()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var link = await shelf.MadeAsync();
        var use = (await OpenAsync(shelf, link)).Use;
        var most = LinkUse.OddEvents + (shelf.Settings.Links.MostDownloads * shelf.Length / LinkUse.SmallestPiece);
        for (var i = 1; i < most; i++) use.AddEvent();
        await OpenAsync(shelf, link);
        use.AddEvent();
        Assert.Equal(LinkTrouble.UsedUp, await shelf.TroubleAsync(link.Path));
        Assert.Equal(LinkTrouble.UsedUp, use.TryBegin(1));
    }

    [Fact]
    public async Task After_a_restart_the_events_written_are_counted_evidence_and_all()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var link = await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(link.DownloadId));
        var most = LinkUse.OddEvents + (int)(shelf.Settings.Links.MostDownloads * shelf.Length / LinkUse.SmallestPiece);
        await shelf.WithAsync(db =>
        {
            db.DownloadEvents.AddRange(Enumerable.Range(0, most - 1).Select(i => new DownloadEvent { DownloadId = link.DownloadId, From = 0, To = 1, IsEvidence = i % 2 == 0, At = shelf.Now }));
            return db.SaveChangesAsync();
        });
        shelf.Restart();
        await OpenAsync(shelf, link);
        await EventAsync(shelf, link.DownloadId, 0, 1, isEvidence: true);
        shelf.Restart();
        Assert.Equal(LinkTrouble.UsedUp, await shelf.TroubleAsync(link.Path));
    }

    /// <summary>A program that fetches piece by piece, none smaller than 64 KiB, never meets the bound before the one of bytes.</summary>
    [Fact]
    public void Fetching_in_small_pieces_is_stopped_by_bytes_first()
    {
        var use = new LinkUse(length: 100_000_000, most: 5);
        for (var sent = 0L; sent < 5 * 100_000_000L; sent += LinkUse.SmallestPiece)
        {
            Assert.Null(use.TryBegin(LinkUse.SmallestPiece));
            use.Add(LinkUse.SmallestPiece);
            use.AddEvent();
            use.End(LinkUse.SmallestPiece);
        }
        Assert.Equal(LinkTrouble.UsedUp, use.TryBegin(1));
    }

    [Fact]
    public async Task What_is_over_or_closed_is_called_that_and_not_used_up()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var link = await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(link.DownloadId));
        (await OpenAsync(shelf, link)).Use.Add(100 * shelf.Length);
        Assert.Equal(LinkTrouble.UsedUp, await shelf.TroubleAsync(link.Path));
        Assert.Equal(LinkTrouble.Altered, await shelf.TroubleAsync(link.Path + "x"));
        shelf.Temp.Clock.SetUtcNow(link.FinishBy);
        Assert.Equal(LinkTrouble.ResumeRunOut, await shelf.TroubleAsync(link.Path));
    }

    [Fact]
    public void Answers_running_at_once_promise_so_much_and_no_more_and_ended_ones_make_room()
    {
        var use = new LinkUse(length: 100, most: 5);
        for (var i = 0; i < LinkUse.MostAtOnce; i++) Assert.Null(use.TryBegin(100));
        Assert.Equal(LinkTrouble.TooManyAtOnce, use.TryBegin(1));
        use.End(100);
        Assert.Null(use.TryBegin(60));
        Assert.Equal(LinkTrouble.TooManyAtOnce, use.TryBegin(41));
        Assert.Null(use.TryBegin(40));
    }

    [Fact]
    public void Of_many_asking_at_the_same_moment_no_more_than_that_begin()
    {
        var use = new LinkUse(length: 1000, most: 5);
        var begun = 0;
        Parallel.For(0, 500, _ => { if (use.TryBegin(1000) is null) Interlocked.Increment(ref begun); });
        Assert.Equal(LinkUse.MostAtOnce, begun);
    }

    [Fact]
    public void The_largest_archives_do_not_overflow() => Assert.Null(new LinkUse(long.MaxValue / 2, 100).TryBegin(long.MaxValue / 2));

    [Fact]
    public async Task Memory_is_bounded_and_what_runs_is_kept()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var uses = new LinkUses(Options.Create(shelf.Settings));
        await using var db = shelf.Temp.Open();
        var running = await uses.OfAsync(db, new Download { Id = "running" }, 10, default);
        running.TryBegin(5);
        for (var i = 0; i < LinkUses.Most + 10; i++) await uses.OfAsync(db, new Download { Id = $"d{i}" }, 10, default);
        Assert.InRange(uses.Count, 1, LinkUses.Most);
        Assert.Same(running, await uses.OfAsync(db, new Download { Id = "running" }, 10, default));
    }
}
