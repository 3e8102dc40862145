using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

public sealed class LookAgainTests
{
    [Fact]
    public async Task A_membership_is_written_with_its_payments_months_and_welcome()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        Assert.Equal(LookOutcome.Kept, await shelf.LookAsync("sub_1"));
        var membership = await shelf.MembershipAsync();
        Assert.Equal((shelf.Now.AddMonths(1), shelf.Now.AddMonths(1).AddDays(7)), (membership.PaidThrough!.Value, membership.ActiveUntil));
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.Equal("joined", await shelf.MailsAsync());
        Assert.Equal("in_sub_1_0", (await shelf.AskAsync(db => db.Payments.SingleAsync())).Id);
    }

    [Fact]
    public async Task Looking_twice_changes_nothing_and_mails_nothing()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.LookAsync("sub_1");
        Assert.Equal(LookOutcome.Kept, await shelf.LookAsync("sub_1"));
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.Equal("joined", await shelf.MailsAsync());
    }

    [Fact]
    public async Task Two_looks_at_the_same_instant_make_one_person_one_membership_and_one_mail()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => Task.Run(() => shelf.LookAsync("sub_1"))));
        Assert.Equal((1, 1, 1), (
            await shelf.AskAsync(db => db.Users.CountAsync()), await shelf.AskAsync(db => db.PaidMemberships.CountAsync()), await shelf.AskAsync(db => db.Outbox.CountAsync())));
    }

    [Fact]
    public async Task An_answer_asked_for_earlier_never_overwrites_a_later_one()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.LookAsync("sub_1");
        shelf.Provider.OnTheWay = async () =>
        {
            // While the answer is on its way, the next month is paid and looked at.
            shelf.Clock.Advance(TimeSpan.FromDays(30));
            shelf.Provider.Happens("sub_1", m => m.Paid(Told.Payment("in_2", m.StartedAt.AddMonths(1), paid: shelf.Now)));
            Assert.Equal(LookOutcome.Kept, await shelf.LookAsync("sub_1"));
        };
        Assert.Equal(LookOutcome.Older, await shelf.LookAsync("sub_1"));
        Assert.Equal("2026-11 2026-12", await shelf.MonthsAsync());
    }

    [Fact]
    public async Task What_was_never_paid_or_is_not_there_or_has_no_address_is_not_written()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now) with { Payments = [] });
        shelf.Provider.Begins(Told.Begun("sub_2", shelf.Now, email: ""));
        Assert.Equal(LookOutcome.NeverPaid, await shelf.LookAsync("sub_1"));
        Assert.Equal(LookOutcome.NobodysOurs, await shelf.LookAsync("sub_2"));
        Assert.Equal(LookOutcome.NotThere, await shelf.LookAsync("sub_3"));
        Assert.Equal((0, 0), (await shelf.AskAsync(db => db.PaidMemberships.CountAsync()), await shelf.AskAsync(db => db.Users.CountAsync())));
    }

    [Fact]
    public async Task Away_nothing_is_written()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.IsAway = true;
        await Assert.ThrowsAsync<PaymentsUnreachableException>(() => shelf.LookAsync("sub_1"));
    }

    [Fact]
    public async Task A_renewal_that_failed_is_grace_and_paid_late_as_if_it_never_had()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var start = shelf.Now;
        shelf.Provider.Begins(Told.Begun("sub_1", start));
        await shelf.LookAsync("sub_1");
        shelf.Clock.SetUtcNow(start.AddMonths(1).AddHours(1));
        shelf.Provider.Happens("sub_1", m => m with { UnpaidSince = start.AddMonths(1) });
        await shelf.LookAsync("sub_1");
        shelf.Clock.Advance(TimeSpan.FromDays(3));
        await shelf.LookAsync("sub_1");
        Assert.Equal("joined unpaid", await shelf.MailsAsync());
        Assert.Equal(MembershipStanding.Grace, await StandingAsync(shelf));
        shelf.Clock.Advance(TimeSpan.FromDays(7));
        Assert.Equal(MembershipStanding.Left, await StandingAsync(shelf));
        shelf.Provider.Happens("sub_1", m => m.Paid(Told.Payment("in_2", start.AddMonths(1), paid: shelf.Now)));
        await shelf.LookAsync("sub_1");
        Assert.Equal(MembershipStanding.Active, await StandingAsync(shelf));
        Assert.Equal("2026-11 2026-12", await shelf.MonthsAsync());
        Assert.Equal("joined unpaid", await shelf.MailsAsync());
    }

    [Fact]
    public async Task A_month_paid_back_is_taken_back_and_a_part_is_not()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        shelf.Provider.Happens("sub_1", m => m.With("in_sub_1_0", p => p with { RefundedMinor = 899, RefundedAt = shelf.Now }));
        await shelf.LookAsync("sub_1");
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        shelf.Provider.Happens("sub_1", m => m.With("in_sub_1_0", p => p with { RefundedMinor = 900 }));
        await shelf.LookAsync("sub_1");
        Assert.Equal("", await shelf.MonthsAsync());
        Assert.Equal(shelf.Now, (await shelf.MembershipAsync()).ActiveUntil);
    }

    [Fact]
    public async Task Leaving_is_mailed_once_and_the_end_itself_is_not_mailed_again()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.LookAsync("sub_1");
        shelf.Provider.Happens("sub_1", m => m with { LeavesAt = m.StartedAt.AddMonths(1) });
        await shelf.LookAsync("sub_1");
        shelf.Clock.Advance(TimeSpan.FromDays(31));
        shelf.Provider.Happens("sub_1", m => m with { EndedAt = m.LeavesAt });
        await shelf.LookAsync("sub_1");
        Assert.Equal("joined left", await shelf.MailsAsync());
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    /// <summary>The provider's account may hold the past of years before this shelf.</summary>
    [Fact]
    public async Task One_that_ended_before_this_shelf_knew_it_is_kept_and_not_mailed()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now.AddYears(-2)) with { EndedAt = shelf.Now.AddYears(-1) });
        Assert.Equal(LookOutcome.Kept, await shelf.LookAsync("sub_1"));
        Assert.Equal("2024-11", await shelf.MonthsAsync());
        Assert.Equal("", await shelf.MailsAsync());
    }

    /// <summary>After a restored backup a joining's number may be given a second time.</summary>
    [Fact]
    public async Task A_joining_agreed_to_after_the_membership_began_is_not_its_own()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.StartAsync("tern@post.example");
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now.AddDays(-1), "wren@post.example", shelf.Provider.Wish!.JoiningId));
        await shelf.LookAsync("sub_1");
        Assert.Equal("wren@post.example", await shelf.AskAsync(db => db.Users.Select(u => u.Email).SingleAsync()));
        Assert.Null((await shelf.AskAsync(db => db.Joinings.SingleAsync())).PaidAt);
    }

    private static async Task<MembershipStanding> StandingAsync(PayingShelf shelf) => MembershipRule.StandingAt(await shelf.MembershipAsync(), shelf.Now);
}
