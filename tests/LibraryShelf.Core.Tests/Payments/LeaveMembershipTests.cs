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
        shelf.Clock.SetUtcNow(EndOfTheFourteenthDay(shelf).AddSeconds(-1));
        Assert.Equal(new LeaveOutcome.TakenBack(900, "EUR"), await shelf.WithdrawAsync(await LinkAsync(shelf)));
        Assert.Equal(["refund in_sub_1_0  withdraw-in_sub_1_0", "end sub_1"], shelf.Provider.Wishes);
        var membership = await shelf.MembershipAsync();
        Assert.Equal((MembershipStanding.Left, shelf.Now), (MembershipRule.StandingAt(membership, shelf.Now), membership.EndedAt));
        Assert.Equal("", await shelf.MonthsAsync());
        Assert.Contains("no month stays yours", await shelf.TextAsync("left:"), StringComparison.Ordinal);
        Assert.IsType<LeaveOutcome.NothingToLeave>(await shelf.WithdrawAsync(await LinkAsync(shelf)));
    }

    /// <summary>Begun at noon: the day of joining is not counted (Regulation (EEC) 1182/71, article 3 (1)), and the last is whole, by Lisbon's clock, which is UTC in winter.</summary>
    private static DateTimeOffset EndOfTheFourteenthDay(PayingShelf shelf) => new(shelf.Now.UtcDateTime.Date.AddDays(15), TimeSpan.Zero);

    [Fact]
    public async Task Left_while_a_renewal_is_tried_again_it_ends_at_once_and_is_tried_no_more()
    {
        await using var shelf = await JoinedAsync();
        shelf.Clock.SetUtcNow(shelf.Now.AddMonths(1).AddDays(1));
        shelf.Provider.Happens("sub_1", m => m with { UnpaidSince = shelf.Now });
        await shelf.LookAsync("sub_1");
        Assert.Equal(MembershipStanding.Grace, MembershipRule.StandingAt(await shelf.MembershipAsync(), shelf.Now));
        Assert.True((await shelf.AskAsync(db => new LookAtLeaving(db, shelf.Clock, shelf.Settings).RunAsync(new Leaver.SignedIn(1), default)))!.IsUnpaid);
        Assert.IsType<LeaveOutcome.Ended>(await shelf.LeaveAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId)));
        Assert.Equal(["end sub_1"], shelf.Provider.Wishes);
        Assert.Contains("has ended. Nothing more will be taken.", await shelf.TextAsync("left:"), StringComparison.Ordinal);
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    /// <summary>At the provider's own page they may leave at the end of the time that is not paid.</summary>
    [Fact]
    public async Task Left_elsewhere_while_it_is_tried_again_grace_goes_on_and_the_mail_says_what_is_true()
    {
        await using var shelf = await JoinedAsync();
        var end = shelf.Now.AddMonths(1);
        shelf.Clock.SetUtcNow(end.AddDays(1));
        shelf.Provider.Happens("sub_1", m => m with { UnpaidSince = shelf.Now, LeavesAt = end.AddMonths(1) });
        await shelf.LookAsync("sub_1");
        Assert.Equal(end.AddDays(7), (await shelf.MembershipAsync()).ActiveUntil);
        Assert.Contains("may be tried again", await shelf.TextAsync("left:"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Who_joined_twice_hears_of_it_and_leaves_one_after_the_other()
    {
        await using var shelf = await JoinedAsync();
        await shelf.FinishAsync(await shelf.PayAsync(id: "sub_2"));
        Assert.Contains("two payments are taken", await shelf.TextAsync("joined:2"), StringComparison.Ordinal);
        var wren = new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId);
        await shelf.LeaveAsync(wren);
        await shelf.LeaveAsync(wren);
        Assert.Equal(["leave sub_2 False", "leave sub_1 False"], shelf.Provider.Wishes);
    }

    [Fact]
    public async Task While_one_goes_on_unpaid_nobody_signed_in_joins_beside_it()
    {
        await using var shelf = await JoinedAsync();
        var wren = (await shelf.MembershipAsync()).PersonId;
        shelf.Clock.Advance(TimeSpan.FromDays(60));
        Assert.Equal(JoinRefusal.IsMember, Assert.IsType<JoinOutcome.Refused>(await shelf.StartAsync(personId: wren)).Why);
    }

    [Fact]
    public async Task Paid_back_already_it_is_ended_without_asking_for_nothing()
    {
        await using var shelf = await JoinedAsync();
        shelf.Provider.Happens("sub_1", m => m.With("in_sub_1_0", p => p with { RefundedMinor = 900, RefundedAt = shelf.Now }));
        await shelf.LookAsync("sub_1");
        Assert.Equal(new LeaveOutcome.TakenBack(0, "EUR"), await shelf.WithdrawAsync(await LinkAsync(shelf)));
        Assert.Equal(["end sub_1"], shelf.Provider.Wishes);
    }

    [Fact]
    public async Task After_its_days_or_after_a_second_payment_it_is_too_late()
    {
        await using var shelf = await JoinedAsync();
        var start = shelf.Now;
        shelf.Clock.SetUtcNow(EndOfTheFourteenthDay(shelf));
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
