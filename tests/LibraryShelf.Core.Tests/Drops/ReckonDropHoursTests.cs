using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Drops.PlanningShelf;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>The rules of a time zone changed since a drop was planned: its stored instant is of the old ones.</summary>
public sealed class ReckonDropHoursTests
{
    private static readonly DateTimeOffset Hour = new(2026, 12, 1, 9, 0, 0, TimeSpan.Zero);

    [Theory]
    [InlineData(60)]
    [InlineData(-30)]
    [InlineData(24 * 60)] // a day left out
    public async Task What_is_planned_stays_at_its_time_on_the_wall_and_says_what_it_was(int minutes)
    {
        await using var shelf = await MakeAsync();
        await shelf.PlannedAsync(December);
        Assert.Equal(0, await ReckonAsync(shelf));
        await StoreAsync(shelf, Hour.AddMinutes(minutes));
        Assert.Equal(1, await ReckonAsync(shelf));
        var drop = await shelf.DropAsync(December);
        Assert.Equal((Hour, Hour.AddMinutes(minutes), 1), (drop.DueAt, drop.MovedFrom, drop.Revision));
        Assert.Equal(0, await ReckonAsync(shelf));

        // Words alone do not answer it; another hour does.
        await shelf.PlanAsync(December, shelf.Form() with { Title = "Other" }, 1);
        Assert.NotNull((await shelf.DropAsync(December)).MovedFrom);
        await shelf.PlanAsync(December, shelf.Form("2"), 2);
        Assert.Null((await shelf.DropAsync(December)).MovedFrom);
    }

    [Fact]
    public async Task Rules_that_change_back_leave_nothing_to_say()
    {
        await using var shelf = await MakeAsync();
        await shelf.PlannedAsync(December);
        await shelf.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, Hour.AddHours(1)).SetProperty(d => d.MovedFrom, Hour)));
        Assert.Equal(1, await ReckonAsync(shelf));
        var drop = await shelf.DropAsync(December);
        Assert.Equal((Hour, null), (drop.DueAt, drop.MovedFrom));
    }

    [Fact]
    public async Task What_is_due_goes_out_at_once_or_was_meant_otherwise_is_left_alone()
    {
        await using var shelf = await MakeAsync();
        await shelf.PlannedAsync(December);
        await StoreAsync(shelf, Hour.AddDays(4));
        Assert.Equal(0, await ReckonAsync(shelf));
        await StoreAsync(shelf, Hour.AddHours(-1));
        shelf.Temp.Clock.SetUtcNow(Hour.AddMinutes(-30));
        Assert.Equal(0, await ReckonAsync(shelf));
        await shelf.PlanAsync(December, shelf.Form(isAtOnce: true), 0);
        Assert.Equal(0, await ReckonAsync(shelf));
        await shelf.PlanAsync(December, shelf.Form("2"), 1);
        await StoreAsync(shelf, Hour.AddDays(1).AddHours(1));
        await shelf.CancelAsync(December);
        Assert.Equal(0, await ReckonAsync(shelf));
    }

    private static Task<int> StoreAsync(PlanningShelf shelf, DateTimeOffset due) => shelf.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, due)));

    private static Task<int> ReckonAsync(PlanningShelf shelf) => shelf.WithAsync(db => new ReckonDropHours(db, shelf.Temp.Clock).RunAsync(default));
}
