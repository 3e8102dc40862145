using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using static LibraryShelf.Core.Tests.Drops.PlanningShelf;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>A drop that is not what it was at its hour waits for its maker's word; and what is sent at once can be taken back.</summary>
public sealed class DropAsksTests
{
    private static readonly DateTimeOffset Hour = new(2026, 12, 1, 9, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task Whole_all_the_time_it_goes_at_start_by_itself_however_late()
    {
        await using var shelf = await MakeAsync();
        await FilledAsync(shelf);
        shelf.Temp.Clock.SetUtcNow(Hour.AddDays(9));
        Assert.IsType<SendDropOutcome.Sent>(await SendAsync(shelf));
    }

    [Theory]
    [InlineData("put in")]
    [InlineData("taken out")]
    [InlineData("sealed")]
    [InlineData("words")]
    public async Task Changed_after_its_hour_it_asks_and_before_it_does_not(string change)
    {
        foreach (var isAfter in new[] { false, true })
        {
            await using var shelf = await MakeAsync();
            var (bells, loom) = (await FilledAsync(shelf), await shelf.ReleaseAsync("Loom", ReleaseState.Sealed));
            if (change is "taken out" or "sealed")
                await shelf.FillAsync(December, loom);
            if (change is "sealed")
                await shelf.WithAsync(db => db.Releases.Where(r => r.Id == loom).ExecuteUpdateAsync(s => s.SetProperty(r => r.State, ReleaseState.Sealed)));
            var at = isAfter ? Hour : Hour.AddMilliseconds(-1);
            shelf.Temp.Clock.SetUtcNow(at);
            Assert.Null((await shelf.DropAsync(December)).AsksSince);
            object? done = change switch
            {
                "put in" => await shelf.FillAsync(December, loom),
                "taken out" => await shelf.FillAsync(December, loom, isIn: false),
                "sealed" => await shelf.WithAsync(db => new ScheduleSealed(db, shelf.Temp.Clock).RunAsync(loom, default)),
                _ => await shelf.PlanAsync(December, shelf.Form() with { Title = "Other" }, (await shelf.DropAsync(December)).Revision),
            };
            var drop = await shelf.DropAsync(December);
            Assert.Equal(change == "sealed" ? drop.Id : new DropOutcome.Done(isAfter ? drop.Id : null), done);
            Assert.Equal(isAfter ? at : null, drop.AsksSince);
            shelf.Temp.Clock.SetUtcNow(Hour.AddDays(1));
            Assert.IsType(isAfter ? typeof(SendDropOutcome.Asks) : typeof(SendDropOutcome.Sent), await SendAsync(shelf));
            Assert.Equal(isAfter ? at : null, (await shelf.DropAsync(December)).AsksSince);
            Assert.Equal(isAfter ? ReleaseState.Scheduled : ReleaseState.Published, await shelf.StateAsync(bells));
        }
    }

    [Fact]
    public async Task Another_hour_or_another_month_is_the_makers_word_too()
    {
        await using var shelf = await MakeAsync();
        await FilledAsync(shelf);
        await AskAsync(shelf);
        Assert.Equal(new DropOutcome.Done(null), await shelf.PlanAsync(December, shelf.Form("2026-12-20"), (await shelf.DropAsync(December)).Revision));
        Assert.Null((await shelf.DropAsync(December)).AsksSince);
        Assert.IsType<SendDropOutcome.NotNow>(await SendAsync(shelf));
        Assert.Null((await shelf.DropAsync(December)).Trouble);

        shelf.Temp.Clock.SetUtcNow(Hour.AddDays(30));
        await AskAsync(shelf);
        Assert.IsType<DropOutcome.Done>(await shelf.MoveAsync(December, December.PlusMonths(1)));
        Assert.Null((await shelf.DropAsync(December.PlusMonths(1))).AsksSince);
    }

    [Fact]
    public async Task Let_go_it_goes_in_five_minutes_if_it_is_what_was_looked_at_and_whole()
    {
        await using var shelf = await MakeAsync();
        await FilledAsync(shelf);
        Assert.StartsWith("Its hour has not come", Words(await LetGoAsync(shelf, (await shelf.DropAsync(December)).Revision)), StringComparison.Ordinal);
        await AskAsync(shelf);
        var seen = (await shelf.DropAsync(December)).Revision;
        var draft = await shelf.ReleaseAsync("Loom", ReleaseState.Draft);
        await shelf.FillAsync(December, draft);
        Assert.IsType<DropOutcome.ChangedMeanwhile>(await LetGoAsync(shelf, seen));
        Assert.Contains("Loom 1.0.0 is not sealed.", Words(await LetGoAsync(shelf, seen + 1)), StringComparison.Ordinal);
        await shelf.FillAsync(December, draft, isIn: false);
        await shelf.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, Hour)));
        Assert.Contains("restored from a backup", Words(await LetGoAsync(shelf, seen + 2)), StringComparison.Ordinal);
        await shelf.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, (DateTimeOffset?)null)));

        Assert.Equal(new DropOutcome.Done(null), await LetGoAsync(shelf, seen + 2));
        Assert.IsType<SendDropOutcome.NotNow>(await SendAsync(shelf));
        shelf.Temp.Clock.Advance(TimeSpan.FromMinutes(5));
        Assert.IsType<SendDropOutcome.Sent>(await SendAsync(shelf));
        Assert.Equal("This drop is out.", Words(await LetGoAsync(shelf, seen + 4)));
    }

    [Fact]
    public async Task Taken_back_it_comes_when_it_was_planned_for_and_asks_where_that_is_past()
    {
        await using var shelf = await MakeAsync();
        await FilledAsync(shelf);
        var revision = (await shelf.DropAsync(December)).Revision;
        Assert.Equal(new DropOutcome.Done(null), await shelf.PlanAsync(December, shelf.Form("last", "20:00", isAtOnce: true), revision));
        var drop = await shelf.DropAsync(December);
        Assert.Equal((shelf.Temp.Clock.GetUtcNow().AddMinutes(5), true, "1", "09:00"), (drop.DueAt, drop.IsAtOnce, drop.Day, drop.Time));
        shelf.Temp.Clock.Advance(TimeSpan.FromMinutes(5)); // also in the last minute, before the job comes to it
        Assert.Equal(new DropOutcome.Done(null), await TakeBackAsync(shelf));
        drop = await shelf.DropAsync(December);
        Assert.Equal((Hour, false, null), (drop.DueAt, drop.IsAtOnce, drop.AsksSince));
        Assert.IsType<SendDropOutcome.NotNow>(await SendAsync(shelf));
        Assert.Equal(new DropOutcome.Done(null), await TakeBackAsync(shelf)); // nothing to take back
        Assert.Equal(drop.Revision, (await shelf.DropAsync(December)).Revision);

        shelf.Temp.Clock.SetUtcNow(Hour);
        await AskAsync(shelf);
        await LetGoAsync(shelf, (await shelf.DropAsync(December)).Revision);
        shelf.Temp.Clock.Advance(TimeSpan.FromMinutes(2));
        Assert.Equal(new DropOutcome.Done(drop.Id), await TakeBackAsync(shelf));
        drop = await shelf.DropAsync(December);
        Assert.Equal((Hour, false, shelf.Temp.Clock.GetUtcNow()), (drop.DueAt, drop.IsAtOnce, drop.AsksSince));
        Assert.IsType<SendDropOutcome.Asks>(await SendAsync(shelf));

        await LetGoAsync(shelf, drop.Revision);
        shelf.Temp.Clock.Advance(TimeSpan.FromMinutes(5));
        Assert.IsType<SendDropOutcome.Sent>(await SendAsync(shelf));
        Assert.StartsWith("It is out already", Words(await TakeBackAsync(shelf)), StringComparison.Ordinal);
    }

    /// <summary>December with Tin Bells 1.0.0, due on the 1st at nine.</summary>
    private static async Task<long> FilledAsync(PlanningShelf shelf)
    {
        await shelf.PlannedAsync(December);
        var bells = await shelf.ReleaseAsync("Tin Bells", ReleaseState.Sealed);
        await shelf.FillAsync(December, bells);
        return bells;
    }

    /// <summary>Its maker changes a word of it after its hour.</summary>
    private static async Task AskAsync(PlanningShelf shelf)
    {
        var drop = await shelf.DropAsync(December);
        if (shelf.Temp.Clock.GetUtcNow() < drop.DueAt)
            shelf.Temp.Clock.SetUtcNow(drop.DueAt);
        await shelf.PlanAsync(December, DropForm.Of(drop) with { Title = "Other" }, drop.Revision);
        Assert.IsType<SendDropOutcome.Asks>(await SendAsync(shelf));
        Assert.NotNull((await shelf.DropAsync(December)).AsksSince);
    }

    private static Task<SendDropOutcome> SendAsync(PlanningShelf shelf) => shelf.WithAsync(
        async db => await new SendDrop(db, shelf.Temp.Clock, Options.Create(new Core.Shared.ShelfSettings())).RunAsync((await shelf.DropAsync(December)).Id, null, default));

    private static Task<DropOutcome> LetGoAsync(PlanningShelf shelf, int revision) => shelf.WithAsync(db => new LetDropGo(db, shelf.Temp.Clock).RunAsync(December, revision, default));

    private static Task<DropOutcome> TakeBackAsync(PlanningShelf shelf) => shelf.WithAsync(db => new TakeBackDrop(db, shelf.Temp.Clock).RunAsync(December, default));

    private static string Words(DropOutcome outcome) => Assert.Single(Assert.IsType<DropOutcome.Refused>(outcome).Refusals).Words;
}
