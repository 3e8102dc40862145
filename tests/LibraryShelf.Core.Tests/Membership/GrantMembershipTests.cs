using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Membership;

public sealed class GrantMembershipTests
{
    private static async Task<GrantOutcome> GrantAsync(TempShelf shelf, string email = "wren@post.example", DateOnly? lastDay = null)
    {
        await using var db = shelf.Open();
        return await new GrantMembership(db, shelf.Clock).RunAsync(email, "note", lastDay, null, CancellationToken.None);
    }

    [Fact]
    public async Task Many_presses_at_once_make_one_membership_and_one_mail()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var outcomes = await Task.WhenAll(Enumerable.Range(0, 6).Select(_ => Task.Run(() => GrantAsync(shelf))));
        Assert.Single(outcomes, GrantOutcome.Granted);
        Assert.Equal(5, outcomes.Count(o => o == GrantOutcome.AlreadyMember));
        await using var db = shelf.Open();
        var grant = await db.MembershipGrants.SingleAsync();
        Assert.Equal($"welcome:{grant.Id}", (await db.Outbox.SingleAsync()).Cause);
    }

    [Fact]
    public async Task Pressed_twice_with_a_last_day_it_is_given_once_and_a_longer_one_is_another()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var day = new DateOnly(2027, 1, 31);
        Assert.Equal(GrantOutcome.Granted, await GrantAsync(shelf, lastDay: day));
        Assert.Equal(GrantOutcome.AlreadyMember, await GrantAsync(shelf, lastDay: day));
        Assert.Equal(GrantOutcome.Granted, await GrantAsync(shelf, lastDay: day.AddDays(1)));
        await using var db = shelf.Open();
        Assert.Equal(2, await db.Outbox.CountAsync());
    }

    [Theory]
    [InlineData("2026-11-24", GrantOutcome.EndsBeforeItStarts)]
    [InlineData("2026-11-25", GrantOutcome.Granted)] // today, 12:00 UTC: the day is not over
    public async Task The_last_day_counts_whole(string day, GrantOutcome expected)
    {
        await using var shelf = await TempShelf.MakeAsync();
        Assert.Equal(expected, await GrantAsync(shelf, lastDay: DateOnly.Parse(day)));
        await using var db = shelf.Open();
        if (expected == GrantOutcome.Granted)
            Assert.Equal(new DateTimeOffset(2026, 11, 26, 0, 0, 0, TimeSpan.Zero), (await db.MembershipGrants.SingleAsync()).Until);
        else
            Assert.Equal(0, await db.Users.CountAsync());
    }
}
