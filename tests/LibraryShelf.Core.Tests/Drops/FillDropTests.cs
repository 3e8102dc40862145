using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using NodaTime;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>What stands in a month's drop, and what becomes of a version by it.</summary>
public sealed class FillDropTests
{
    private static readonly YearMonth December = PlanningShelf.December;

    [Theory]
    [InlineData(ReleaseState.Draft, ReleaseState.Draft, ReleaseState.Draft)]
    [InlineData(ReleaseState.Checked, ReleaseState.Checked, ReleaseState.Checked)]
    [InlineData(ReleaseState.Sealed, ReleaseState.Scheduled, ReleaseState.Sealed)]
    [InlineData(ReleaseState.Early, ReleaseState.Early, ReleaseState.Early)]
    public async Task A_sealed_version_is_scheduled_and_sealed_again_once_it_is_out_or_the_drop_is_called_off(ReleaseState before, ReleaseState inIt, ReleaseState after)
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        await shelf.PlannedAsync(December);
        var release = await shelf.ReleaseAsync("Tin Bells", before);
        Assert.Equal(new DropOutcome.Done(null), await shelf.FillAsync(December, release));
        Assert.Equal(inIt, await shelf.StateAsync(release));
        Assert.Equal(new DropOutcome.Done(null), await shelf.FillAsync(December, release));
        Assert.Equal(new DropOutcome.Done(null), await shelf.FillAsync(December, release, isIn: false));
        Assert.Equal(after, await shelf.StateAsync(release));

        await shelf.FillAsync(December, release);
        Assert.IsType<DropOutcome.Done>(await shelf.CancelAsync(December));
        Assert.Equal(after, await shelf.StateAsync(release));
        Assert.IsType<DropOutcome.Refused>(await shelf.FillAsync(December, release));
        Assert.IsType<DropOutcome.Done>(await shelf.PlanAsync(December, revision: (await shelf.DropAsync(December)).Revision));
        Assert.Empty((await shelf.MonthsAsync()).Ahead.Single(m => m.Month == December).Versions);
        Assert.IsType<DropOutcome.Done>(await shelf.FillAsync(December, release));
    }

    [Fact]
    public async Task One_of_a_library_one_drop_for_a_version_and_nothing_that_was_out()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        await shelf.PlannedAsync(December);
        await shelf.PlannedAsync(December.PlusMonths(1));
        var (bells, bellsAgain) = (await shelf.ReleaseAsync("Tin Bells", ReleaseState.Sealed), await shelf.ReleaseAsync("Tin Bells", ReleaseState.Draft, "1.1.0"));
        var published = await shelf.ReleaseAsync("Loom", ReleaseState.Published);
        await shelf.FillAsync(December, bells);
        Assert.Equal("Tin Bells 1.0.0 is in this drop, and a drop has one version of a library. Take that out first.", await WordsAsync(December, bellsAgain));
        Assert.Equal("Tin Bells 1.0.0 is in the drop of December 2026. Take it out there first.", await WordsAsync(December.PlusMonths(1), bells));
        Assert.Equal("Loom 1.0.0 is on the shelf already. Choose another version.", await WordsAsync(December, published));
        Assert.IsType<DropOutcome.Missing>(await shelf.FillAsync(December, 4711));
        Assert.IsType<DropOutcome.Missing>(await shelf.FillAsync(December.PlusMonths(5), bells));

        async Task<string> WordsAsync(YearMonth month, long release) => Assert.Single(Assert.IsType<DropOutcome.Refused>(await shelf.FillAsync(month, release)).Refusals).Words;
    }

    [Fact]
    public async Task The_months_say_what_is_missing_and_which_comes_next()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        Assert.Null((await shelf.MonthsAsync()).Ahead.Single(m => m.Month == December).Drop);
        await shelf.PlannedAsync(December);
        var months = await shelf.MonthsAsync();
        Assert.Equal(12, months.Ahead.Count);
        Assert.Equal(["December has no library."], months.Ahead.Single(m => m.Month == December).Gaps.Select(g => g.Words));
        await shelf.FillAsync(December, await shelf.ReleaseAsync("Tin Bells", ReleaseState.Draft));
        await shelf.FillAsync(December, await shelf.ReleaseAsync("Loom", ReleaseState.Sealed, isDeclared: false));
        Assert.Equal([DropLack.NotSealed, DropLack.NotDeclared], (await shelf.MonthsAsync()).Ahead.Single(m => m.Month == December).Gaps.Select(g => g.Lack));
        // Nobody planned November, and its usual day is past: it was not meant. Once a month had a drop, the next is missed.
        Assert.Equal(December, (await shelf.MonthsAsync()).Next!.Month);
        await shelf.WithAsync(async db =>
        {
            db.Drops.Add(new Drop { Month = December.PlusMonths(-2), State = DropState.Sent, SentAt = shelf.Temp.Clock.GetUtcNow() });
            return await db.SaveChangesAsync();
        });
        Assert.Equal(December.PlusMonths(-1), (await shelf.MonthsAsync()).Next!.Month);
    }

    [Fact]
    public async Task Before_it_is_out_the_shelf_says_that_a_drop_comes_and_when_and_nothing_else()
    {
        await using var shelf = await PlanningShelf.MakeAsync();
        await shelf.PlannedAsync(December);
        var news = await shelf.WithAsync(db => new ReadNextDrop(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal((null, new ComingDrop(December, new DateTimeOffset(2026, 12, 1, 9, 0, 0, TimeSpan.Zero), DateTimeZoneProviders.Tzdb["Europe/Lisbon"])), (news.Last, news.Next));
        Assert.Null(await shelf.WithAsync(db => new ReadDropOut(db, shelf.Temp.Clock).RunAsync(December, default)));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(7));
        Assert.Null((await shelf.WithAsync(db => new ReadNextDrop(db, shelf.Temp.Clock).RunAsync(default))).Next);
    }
}
