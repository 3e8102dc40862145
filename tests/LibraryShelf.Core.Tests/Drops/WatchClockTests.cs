using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Drops.DropBench;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>A clock that jumps ahead sends nothing by itself; a month let pass on purpose does.</summary>
public sealed class WatchClockTests
{
    [Fact]
    public async Task What_is_due_by_a_clock_that_jumped_asks_and_goes_at_its_hour_once_the_clock_is_right()
    {
        await using var bench = await MakeAsync();
        await bench.MemberAsync("wren@post.example");
        var soon = await bench.DropAsync(December, TimeSpan.FromDays(6), await bench.NewAsync("Mended Kettle"));
        var far = await bench.DropAsync(December.PlusMonths(12), TimeSpan.FromDays(371), await bench.NewAsync("Jam-jar Marimba"));
        await LookAsync(bench);
        var right = bench.Now;

        bench.Shelf.Clock.SetUtcNow(right.AddDays(300));
        Assert.Equal(WatchClockOutcome.Jumped, await LookAsync(bench));
        Assert.Equal((bench.Now, null), ((await bench.ReadAsync(soon)).AsksSince, (await bench.ReadAsync(far)).AsksSince));
        Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(soon));
        Assert.Empty(await bench.MailsAsync());
        Assert.Contains("it says 21 September 2027, and the shelf was last at work on 25 November 2026, 300 days before", (await AlertAsync(bench))!.Words, StringComparison.Ordinal);
        bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        Assert.NotNull(await AlertAsync(bench));
        Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(soon));

        bench.Shelf.Clock.AdjustTime(right.AddMinutes(3));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        Assert.Null(await AlertAsync(bench));
        Assert.Equal([soon], await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
        Assert.IsType<SendDropOutcome.NotNow>(await bench.SendAsync(soon));
        Assert.Empty(await bench.WithAsync(db => new FindDueDrops(db, bench.Shelf.Clock).RunAsync(default)));
        bench.Shelf.Clock.SetUtcNow(right.AddDays(6));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        await bench.SentAsync(soon);
        Assert.Single(await bench.MailsAsync());
    }

    [Theory]
    [InlineData(31)] // a month let pass
    [InlineData(32)]
    public async Task A_month_let_pass_is_no_jump(int days)
    {
        await using var bench = await MakeAsync();
        var drop = await bench.DropAsync(December, TimeSpan.FromDays(2), await bench.NewAsync("Mended Kettle"));
        await LookAsync(bench);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(days));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        await bench.SentAsync(drop);
    }

    [Fact]
    public async Task A_clock_that_was_behind_for_a_while_and_comes_right_is_no_jump()
    {
        await using var bench = await MakeAsync();
        var drop = await bench.DropAsync(December, TimeSpan.FromDays(2), await bench.NewAsync("Mended Kettle"));
        await LookAsync(bench);
        var right = bench.Now;
        bench.Shelf.Clock.AdjustTime(DateTimeOffset.UnixEpoch); // started without a battery
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        bench.Shelf.Clock.SetUtcNow(right.AddDays(3));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        await bench.SentAsync(drop);
    }

    [Fact]
    public async Task What_comes_due_after_the_jump_asks_until_the_alert_is_put_away_and_then_goes()
    {
        await using var bench = await MakeAsync();
        await bench.MemberAsync("wren@post.example");
        var drop = await bench.DropAsync(December, TimeSpan.FromDays(46), await bench.NewAsync("Mended Kettle"));
        var changed = await bench.DropAsync(December.PlusMonths(1), TimeSpan.FromDays(46), await bench.NewAsync("Jam-jar Marimba"));
        var wanting = await bench.DropAsync(December.PlusMonths(2), TimeSpan.FromDays(46), await bench.NewAsync("Tin Bells", Core.Catalog.ReleaseState.Checked));
        await LookAsync(bench);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(45));
        Assert.Equal(WatchClockOutcome.Jumped, await LookAsync(bench));
        Assert.Contains("Until you put this away, no drop goes out by itself", (await AlertAsync(bench))!.Words, StringComparison.Ordinal);
        Assert.Null((await bench.ReadAsync(drop)).AsksSince);

        bench.Shelf.Clock.Advance(TimeSpan.FromDays(1) + TimeSpan.FromMinutes(1));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        var asking = await bench.ReadAsync(drop);
        Assert.Equal(asking.DueAt, asking.AsksSince);
        Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(drop));
        Assert.IsType<SendDropOutcome.NotWhole>(await bench.SendAsync(wanting));
        // Changed after its hour, it asks for that as well.
        var row = await bench.ReadAsync(changed);
        Assert.IsType<DropOutcome.Done>(await bench.WithAsync(db => new PlanDrop(db, bench.Shelf.Clock).RunAsync(row.Month, DropForm.Of(row) with { Note = "Warm bricks." }, row.Revision, default)));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(drop));
        Assert.Empty(await bench.MailsAsync());

        var alert = (await AlertAsync(bench))!;
        Assert.Equal(PutAwayOutcome.PutAway, await bench.WithAsync(db => new PutAwayAlert(db, bench.Shelf.Clock).RunAsync(alert.Id, alert.RaisedAt, default)));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        await bench.SentAsync(drop);
        Assert.Single(await bench.MailsAsync());
        Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(changed));
        Assert.Equal(bench.Now, (await bench.ReadAsync(wanting)).AsksSince);
    }

    [Fact]
    public async Task While_the_clock_is_doubted_what_its_maker_sends_goes()
    {
        await using var bench = await MakeAsync();
        var drop = await bench.DropAsync(December, TimeSpan.FromDays(2), await bench.NewAsync("Mended Kettle"));
        await LookAsync(bench);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(45));
        Assert.Equal(WatchClockOutcome.Jumped, await LookAsync(bench));
        Assert.IsType<SendDropOutcome.Asks>(await bench.SendAsync(drop));
        Assert.IsType<DropOutcome.Done>(await bench.WithAsync(db => new LetDropGo(db, bench.Shelf.Clock).RunAsync(December, 0, default)));
        bench.Shelf.Clock.Advance(PlanDrop.AtOnceIn);
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        await bench.SentAsync(drop);
    }

    [Fact]
    public async Task Ahead_with_no_drop_planned_nobody_is_alarmed_and_with_one_far_off_its_maker_is()
    {
        await using var bench = await MakeAsync();
        await LookAsync(bench);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(100));
        Assert.Equal(WatchClockOutcome.Jumped, await LookAsync(bench));
        Assert.Null(await AlertAsync(bench));
        Assert.Equal(WatchClockOutcome.Fine, await LookAsync(bench));
        await bench.DropAsync(December.PlusMonths(24), TimeSpan.FromDays(700));
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(100));
        Assert.Equal(WatchClockOutcome.Jumped, await LookAsync(bench));
        Assert.NotNull(await AlertAsync(bench));
    }

    private static Task<WatchClockOutcome> LookAsync(DropBench bench) => bench.WithAsync(db => new WatchClock(db, bench.Shelf.Clock).RunAsync(default));

    private static Task<Alert?> AlertAsync(DropBench bench) => bench.WithAsync(db => db.Alerts.SingleOrDefaultAsync(a => a.Kind == AlertKind.ClockJumped && a.SettledAt == null));
}
