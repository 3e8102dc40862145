using System.Text.RegularExpressions;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;

namespace LibraryShelf.Core.Tests.Payments;

public sealed partial class LeaveMembershipTests
{
    [Fact]
    public async Task By_the_mailed_link_nothing_more_is_taken_and_what_is_paid_stays_open()
    {
        await using var shelf = await JoinedAsync();
        var left = Assert.IsType<LeaveOutcome.Left>(await shelf.LeaveAsync(await LinkAsync(shelf)));
        Assert.Equal(shelf.Now.AddMonths(1), left.Until);
        var membership = await shelf.MembershipAsync();
        Assert.Equal((MembershipStanding.Leaving, left.Until), (MembershipRule.StandingAt(membership, shelf.Now), membership.ActiveUntil));
        Assert.Equal("joined left", await shelf.MailsAsync());
        shelf.Clock.Advance(TimeSpan.FromDays(400));
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    [Fact]
    public async Task Leaving_can_be_taken_back_while_it_has_not_ended()
    {
        await using var shelf = await JoinedAsync();
        var link = await LinkAsync(shelf);
        await shelf.LeaveAsync(link);
        Assert.Null(Assert.IsType<LeaveOutcome.Left>(await shelf.LeaveAsync(link, stays: true)).Until);
        Assert.Equal(MembershipStanding.Active, MembershipRule.StandingAt(await shelf.MembershipAsync(), shelf.Now));
    }

    [Fact]
    public async Task Signed_in_it_is_ones_own_membership_alone()
    {
        await using var shelf = await JoinedAsync();
        var wren = (await shelf.MembershipAsync()).PersonId;
        Assert.IsType<LeaveOutcome.NothingToLeave>(await shelf.LeaveAsync(new Leaver.SignedIn(wren + 1)));
        Assert.IsType<LeaveOutcome.NothingToLeave>(await shelf.LeaveAsync(new Leaver.ByLink("nonsense")));
        Assert.Empty(shelf.Provider.Wishes);
        Assert.IsType<LeaveOutcome.Left>(await shelf.LeaveAsync(new Leaver.SignedIn(wren)));
    }

    [Fact]
    public async Task With_the_provider_away_nothing_is_changed()
    {
        await using var shelf = await JoinedAsync();
        var link = await LinkAsync(shelf);
        shelf.Provider.IsAway = true;
        Assert.IsType<LeaveOutcome.Unreachable>(await shelf.LeaveAsync(link));
        Assert.IsType<LeaveOutcome.Unreachable>(await shelf.WithdrawAsync(link));
        Assert.Null((await shelf.MembershipAsync()).LeavesAt);
    }

    [Fact]
    public async Task Taken_back_in_time_the_payment_is_returned_and_the_membership_ends()
    {
        await using var shelf = await JoinedAsync();
        shelf.Clock.Advance(TimeSpan.FromDays(14) - TimeSpan.FromSeconds(1));
        Assert.Equal(new LeaveOutcome.TakenBack(900, "EUR"), await shelf.WithdrawAsync(await LinkAsync(shelf)));
        Assert.Equal(["refund in_sub_1_0  withdraw-in_sub_1_0", "end sub_1"], shelf.Provider.Wishes);
        var membership = await shelf.MembershipAsync();
        Assert.Equal((MembershipStanding.Left, shelf.Now), (MembershipRule.StandingAt(membership, shelf.Now), membership.EndedAt));
        Assert.Equal("", await shelf.MonthsAsync());
        Assert.Contains("no month stays yours", await shelf.TextAsync("left:"), StringComparison.Ordinal);
        Assert.IsType<LeaveOutcome.NothingToLeave>(await shelf.WithdrawAsync(await LinkAsync(shelf)));
    }

    [Fact]
    public async Task After_its_days_or_after_a_second_payment_it_is_too_late()
    {
        await using var shelf = await JoinedAsync();
        var start = shelf.Now;
        shelf.Clock.Advance(TimeSpan.FromDays(14));
        Assert.IsType<LeaveOutcome.TooLate>(await shelf.WithdrawAsync(await LinkAsync(shelf)));
        shelf.Clock.SetUtcNow(start.AddMonths(1));
        shelf.Provider.Happens("sub_1", m => m.Paid(Told.Payment("in_2", shelf.Now)));
        await shelf.LookAsync("sub_1");
        Assert.IsType<LeaveOutcome.TooLate>(await shelf.WithdrawAsync(await LinkAsync(shelf)));
        Assert.Empty(shelf.Provider.Wishes);
    }

    /// <summary>The payment went back, the line broke, a message told of it: the membership would go on and take money again.</summary>
    [Fact]
    public async Task Returned_but_not_ended_it_can_be_finished()
    {
        await using var shelf = await JoinedAsync();
        var link = await LinkAsync(shelf);
        shelf.Provider.Refuses = "end";
        Assert.IsType<LeaveOutcome.Unreachable>(await shelf.WithdrawAsync(link));
        await shelf.LookAsync("sub_1");
        shelf.Provider.Refuses = null;
        Assert.IsType<LeaveOutcome.TakenBack>(await shelf.WithdrawAsync(link));
        Assert.Equal(["refund in_sub_1_0  withdraw-in_sub_1_0", "end sub_1"], shelf.Provider.Wishes);
        Assert.NotNull((await shelf.MembershipAsync()).EndedAt);
    }

    private static async Task<PayingShelf> JoinedAsync()
    {
        var shelf = await PayingShelf.MakeAsync();
        await shelf.FinishAsync(await shelf.PayAsync());
        return shelf;
    }

    private static async Task<Leaver> LinkAsync(PayingShelf shelf) => new Leaver.ByLink(Link().Match(await shelf.TextAsync("joined:")).Groups[1].Value);

    [GeneratedRegex("/leave/([A-Za-z0-9_-]{43})", RegexOptions.None, 1000)]
    private static partial Regex Link();
}
