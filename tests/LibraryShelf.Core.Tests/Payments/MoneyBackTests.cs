using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>The maker pays back and ends: <see cref="RefundPayment"/>, <see cref="EndPaidMembership"/>.</summary>
public sealed class MoneyBackTests
{
    [Fact]
    public async Task Paid_back_whole_its_month_is_taken_back_and_a_doubled_press_pays_once()
    {
        await using var shelf = await JoinedAsync();
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.Equal(new RefundOutcome.PaidBack(900, "EUR", IsWhole: true, IsLookedAt: true), await shelf.RefundAsync("in_sub_1_0", null));
        Assert.Equal("", await shelf.MonthsAsync());
        Assert.IsType<RefundOutcome.ChangedMeanwhile>(await shelf.RefundAsync("in_sub_1_0", null));
        Assert.Equal(new RefundOutcome.TooMuch(0, "EUR"), await shelf.RefundAsync("in_sub_1_0", null, already: 900));
        Assert.Equal(["refund in_sub_1_0 900 refund-in_sub_1_0-0-900"], shelf.Provider.Wishes);
    }

    [Fact]
    public async Task In_part_the_month_stays_until_the_rest_goes_back()
    {
        await using var shelf = await JoinedAsync();
        Assert.Equal(new RefundOutcome.PaidBack(400, "EUR", IsWhole: false, IsLookedAt: true), await shelf.RefundAsync("in_sub_1_0", 400));
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.Equal(new RefundOutcome.TooMuch(500, "EUR"), await shelf.RefundAsync("in_sub_1_0", 501, already: 400));
        Assert.Equal(new RefundOutcome.TooMuch(500, "EUR"), await shelf.RefundAsync("in_sub_1_0", 0, already: 400));
        Assert.Equal(new RefundOutcome.PaidBack(500, "EUR", IsWhole: true, IsLookedAt: true), await shelf.RefundAsync("in_sub_1_0", null, already: 400));
        Assert.Equal("", await shelf.MonthsAsync());
    }

    /// <summary>The money went, then the line broke before anything could be read: the same press must say the same wish to the provider.</summary>
    [Fact]
    public async Task Pressed_again_after_the_line_broke_it_is_the_same_wish()
    {
        await using var shelf = await JoinedAsync();
        shelf.Provider.OnTheWay = () => throw new PaymentsUnreachableException("The line broke.");
        Assert.Equal(new RefundOutcome.PaidBack(900, "EUR", IsWhole: true, IsLookedAt: false), await shelf.RefundAsync("in_sub_1_0", null));
        await shelf.RefundAsync("in_sub_1_0", null);
        Assert.Equal("refund in_sub_1_0 900 refund-in_sub_1_0-0-900", Assert.Single(shelf.Provider.Wishes.Distinct()));
    }

    [Fact]
    public async Task With_the_provider_away_nothing_is_changed()
    {
        await using var shelf = await JoinedAsync();
        var membership = await shelf.MembershipAsync();
        shelf.Provider.IsAway = true;
        Assert.IsType<RefundOutcome.Unreachable>(await shelf.RefundAsync("in_sub_1_0", null));
        Assert.IsType<EndPaidOutcome.Unreachable>(await shelf.EndAsync(membership.Id, atOnce: true));
        Assert.IsType<EndPaidOutcome.Unreachable>(await shelf.EndAsync(membership.Id, atOnce: false));
        Assert.Equal((null, null, "2026-11"), ((await shelf.MembershipAsync()).LeavesAt, (await shelf.MembershipAsync()).EndedAt, await shelf.MonthsAsync()));
    }

    [Fact]
    public async Task Anothers_payment_or_membership_is_not_theirs()
    {
        await using var shelf = await JoinedAsync();
        var membership = await shelf.MembershipAsync();
        Assert.IsType<RefundOutcome.NoSuchPayment>(await shelf.RefundAsync("in_sub_1_0", null, personId: membership.PersonId + 1));
        Assert.IsType<RefundOutcome.NoSuchPayment>(await shelf.RefundAsync("in_nothing", null));
        Assert.IsType<EndPaidOutcome.NothingToEnd>(await shelf.EndAsync(membership.Id, atOnce: true, personId: membership.PersonId + 1));
        Assert.Empty(shelf.Provider.Wishes);
    }

    [Fact]
    public async Task Ended_at_the_end_of_what_is_paid_it_stays_open_till_then()
    {
        await using var shelf = await JoinedAsync();
        var id = (await shelf.MembershipAsync()).Id;
        Assert.Equal(new EndPaidOutcome.Ended(shelf.Now.AddMonths(1)), await shelf.EndAsync(id, atOnce: false));
        Assert.Equal(MembershipStanding.Leaving, MembershipRule.StandingAt(await shelf.MembershipAsync(), shelf.Now));
        Assert.IsType<EndPaidOutcome.NothingToEnd>(await shelf.EndAsync(id, atOnce: false));
        Assert.Equal(("joined left", "leave sub_1 False"), (await shelf.MailsAsync(), Assert.Single(shelf.Provider.Wishes)));
    }

    [Fact]
    public async Task Ended_at_once_the_paid_month_stays()
    {
        await using var shelf = await JoinedAsync();
        var id = (await shelf.MembershipAsync()).Id;
        shelf.Clock.Advance(TimeSpan.FromDays(3));
        Assert.Equal(new EndPaidOutcome.Ended(shelf.Now), await shelf.EndAsync(id, atOnce: true));
        Assert.Equal((MembershipStanding.Left, "2026-11"), (MembershipRule.StandingAt(await shelf.MembershipAsync(), shelf.Now), await shelf.MonthsAsync()));
        Assert.IsType<EndPaidOutcome.NothingToEnd>(await shelf.EndAsync(id, atOnce: true));
    }

    [Fact]
    public async Task One_persons_page_says_what_they_paid_agreed_to_and_have()
    {
        await using var shelf = await JoinedAsync();
        await shelf.AskAsync(db => new GrantMembership(db, shelf.Clock).RunAsync("wren@post.example", "tins", null, null, default));
        var id = (await shelf.MembershipAsync()).PersonId;
        var member = Assert.IsType<MemberOutcome.Found>(await shelf.AskAsync(db => new ReadMember(db, shelf.Clock).RunAsync(id, null, default))).Member;
        Assert.Equal((MemberState.Paying, shelf.Now), (member.Line.State, member.Line.Stretch!.From));
        var paid = Assert.Single(member.Paid);
        Assert.Equal(("Begin at once.", "1 May 2026", "Go on to pay"), (paid.Agreed!.ConsentWords, paid.Agreed.TermsVersion, paid.Agreed.ButtonWords));
        Assert.Equal((900, "in_sub_1_0"), (Assert.Single(paid.Payments).Minor, Assert.Single(member.Months).PaymentId));
        Assert.Equal(2, member.Mails.Count);
        Assert.IsType<MemberOutcome.NotThere>(await shelf.AskAsync(db => new ReadMember(db, shelf.Clock).RunAsync(id + 1, null, default)));
        await shelf.AskAsync(db => db.Users.ExecuteUpdateAsync(s => s.SetProperty(p => p.DeletedAt, shelf.Now)));
        Assert.IsType<MemberOutcome.NotThere>(await shelf.AskAsync(db => new ReadMember(db, shelf.Clock).RunAsync(id, null, default)));
    }

    private static async Task<PayingShelf> JoinedAsync()
    {
        var shelf = await PayingShelf.MakeAsync();
        await shelf.FinishAsync(await shelf.PayAsync());
        return shelf;
    }
}
