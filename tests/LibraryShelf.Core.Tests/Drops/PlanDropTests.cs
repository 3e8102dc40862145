using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using NodaTime;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>Planning a month: when it is due, what is refused, and that nobody writes over what they have not read.</summary>
public sealed class PlanDropTests
{
    private static readonly YearMonth December = PlanningShelf.December;

    // Lisbon is at UTC in winter and an hour ahead in summer, from 28 March 2027 on (tz database, rule EU).
    [Theory]
    [InlineData("2026-12", "1", "09:00", "2026-12-01T09:00Z")]
    [InlineData("2027-02", "31", "09:00", "2027-02-28T09:00Z")]
    [InlineData("2027-04", "1 friday", "09:00", "2027-04-02T08:00Z")]
    [InlineData("2026-12", "2027-01-10", "20:30", "2027-01-10T20:30Z")]
    public async Task It_is_due_at_the_instant_that_day_time_and_zone_come_to(string month, string day, string time, string due)
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        var planned = NodaTime.Text.YearMonthPattern.Iso.Parse(month).Value;
        Assert.Equal(new DropOutcome.Done(null), await shelf.PlanAsync(planned, shelf.Form(day, time)));
        var drop = await shelf.DropAsync(planned);
        Assert.Equal(DateTimeOffset.Parse(due, System.Globalization.CultureInfo.InvariantCulture), drop.DueAt);
        Assert.Equal(("Kiln month", "Warm *bricks*.", day, DropState.Planned, 0), (drop.Title, drop.Note, drop.Day, drop.State, drop.Revision));
    }

    [Theory]
    [InlineData("2026-11", "1", "09:00", "Day")]          // it is the 25th
    [InlineData("2026-12", "30 friday", "09:00", "Day")]
    [InlineData("2026-12", "1", "25:00", "Time")]
    [InlineData("2026-12", "2026-11-30", "09:00", "Day")] // before its month
    [InlineData("2028-12", "1", "09:00", "")]             // 25 months ahead
    public async Task What_won_t_do_is_refused_by_its_field_and_nothing_is_kept(string month, string day, string time, string field)
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        var refused = Assert.IsType<DropOutcome.Refused>(await shelf.PlanAsync(NodaTime.Text.YearMonthPattern.Iso.Parse(month).Value, shelf.Form(day, time)));
        Assert.Equal(field, Assert.Single(refused.Refusals).Field);
        Assert.DoesNotContain((await shelf.MonthsAsync()).Ahead, m => m.Drop is not null);
    }

    [Fact]
    public async Task At_once_is_due_in_five_minutes_and_words_are_kept_later_without_moving_it()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        var november = December.PlusMonths(-1);
        Assert.Equal(new DropOutcome.Done(null), await shelf.PlanAsync(november, shelf.Form(isAtOnce: true)));
        var due = (await shelf.DropAsync(november)).DueAt;
        Assert.Equal(shelf.Temp.Clock.GetUtcNow().AddMinutes(5), due);
        shelf.Temp.Clock.Advance(TimeSpan.FromHours(3));
        Assert.Equal(new DropOutcome.Done(1), await shelf.PlanAsync(november, shelf.Form() with { Title = "Other" }, revision: 0));
        var drop = await shelf.DropAsync(november);
        Assert.Equal(("Other", due, true), (drop.Title, drop.DueAt, drop.IsAtOnce));
        Assert.Equal(shelf.Temp.Clock.GetUtcNow(), drop.AsksSince); // changed after its hour
    }

    [Fact]
    public async Task Who_did_not_read_what_stands_writes_nothing_over_it()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        await shelf.PlannedAsync(December);
        Assert.IsType<DropOutcome.ChangedMeanwhile>(await shelf.PlanAsync(December));
        Assert.IsType<DropOutcome.Done>(await shelf.PlanAsync(December, shelf.Form("2"), revision: 0));
        Assert.IsType<DropOutcome.ChangedMeanwhile>(await shelf.PlanAsync(December, shelf.Form("3"), revision: 0));
        Assert.Equal("2", (await shelf.DropAsync(December)).Day);
    }

    [Fact]
    public async Task Moved_it_keeps_its_time_and_its_versions_and_a_month_with_a_drop_is_refused()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        var (january, february) = (December.PlusMonths(1), December.PlusMonths(2));
        await shelf.PlannedAsync(December);
        await shelf.PlannedAsync(january);
        var release = await shelf.ReleaseAsync("Tin Bells", ReleaseState.Sealed);
        await shelf.FillAsync(December, release);
        Assert.Equal("To", Assert.Single(Assert.IsType<DropOutcome.Refused>(await shelf.MoveAsync(December, january)).Refusals).Field);
        Assert.IsType<DropOutcome.Done>(await shelf.MoveAsync(December, february));
        Assert.Equal(new DateTimeOffset(2027, 2, 1, 9, 0, 0, TimeSpan.Zero), (await shelf.DropAsync(february)).DueAt);
        Assert.Equal(ReleaseState.Scheduled, await shelf.StateAsync(release));

        // Called off, and nobody told of it, a month is free again.
        await shelf.CancelAsync(january);
        Assert.IsType<DropOutcome.Done>(await shelf.MoveAsync(february, january));
        Assert.Equal(DropState.Planned, (await shelf.DropAsync(january)).State);
        Assert.Single((await shelf.MonthsAsync()).Ahead, m => m.Drop is not null);
    }
}
