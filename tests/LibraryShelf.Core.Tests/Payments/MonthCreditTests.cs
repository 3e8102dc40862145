using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>A month slipped, and is credited to those who paid nine euros for it.</summary>
public sealed class MonthCreditTests
{
    [Fact]
    public async Task Who_goes_on_pays_that_much_less_next_time_and_keeps_the_month()
    {
        await using var shelf = await JoinedAsync();
        Assert.Equal(CreditMonthOutcome.Decided, await CreditAsync(shelf));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Equal(["credit cus_sub_1 900 EUR slipped-1-1"], shelf.Provider.Wishes);
        var mail = await shelf.TextAsync("credit:");
        Assert.Contains("€9.00, what the month cost you, are taken off your next payment", mail, StringComparison.Ordinal);
        Assert.Contains("The kiln broke.", mail, StringComparison.Ordinal);
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.False(await DueAsync(shelf));
    }

    [Fact]
    public async Task A_month_is_credited_once()
    {
        await using var shelf = await JoinedAsync();
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Equal(CreditMonthOutcome.CreditedBefore, await CreditAsync(shelf));
        await MoneyAsync(shelf);
        Assert.Single(shelf.Provider.Wishes);
        Assert.Equal("joined credit", await shelf.MailsAsync());
    }

    [Fact]
    public async Task Who_leaves_has_it_paid_back_and_the_month_stays()
    {
        await using var shelf = await JoinedAsync();
        await shelf.LeaveAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId));
        var until = (await shelf.MembershipAsync()).ActiveUntil;
        await CreditAsync(shelf);
        Assert.Null(await MoneyAsync(shelf));
        Assert.Contains("refund in_sub_1_0 900 slipped-1-1", shelf.Provider.Wishes);
        Assert.Contains("€9.00 are on the way back to you", await shelf.TextAsync("credit:"), StringComparison.Ordinal);
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.Equal(until, (await shelf.MembershipAsync()).ActiveUntil);
        // Looked at again by the daily look, too.
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        await shelf.ReconcileAsync();
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        var payment = await shelf.AskAsync(db => db.Payments.SingleAsync());
        Assert.Equal((900, null), (payment.RefundedMinor, payment.TakenBackAt));
    }

    [Fact]
    public async Task The_rest_of_a_year_paid_back_takes_its_months()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now, months: 12).With("in_sub_1_0", p => p with { Minor = 9000, PriceMinor = 9000 }));
        await shelf.LookAsync("sub_1");
        await shelf.LeaveAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId));
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Contains("refund in_sub_1_0 750 slipped-1-1", shelf.Provider.Wishes);
        Assert.Equal(12, (await shelf.MonthsAsync()).Split(' ').Length);
        await shelf.Provider.RefundAsync("in_sub_1_0", 8250, "the rest", default);
        await shelf.LookAsync("sub_1");
        Assert.Equal("", await shelf.MonthsAsync());
    }

    [Fact]
    public async Task A_dispute_lost_takes_it_all_the_same()
    {
        await using var shelf = await JoinedAsync();
        await shelf.LeaveAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId));
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        shelf.Provider.Happens("sub_1", m => m.With("in_sub_1_0", p => p with { DisputeLostAt = shelf.Now }));
        await shelf.LookAsync("sub_1");
        Assert.Equal("", await shelf.MonthsAsync());
    }

    [Fact]
    public async Task Who_leaves_after_it_was_credited_has_it_paid_back_instead()
    {
        await using var shelf = await JoinedAsync();
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        await shelf.LeaveAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId));
        Assert.True(await DueAsync(shelf));
        await MoneyAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Equal(
            ["credit cus_sub_1 900 EUR slipped-1-1", "leave sub_1 False", "credit cus_sub_1 -900 EUR slipped-1-1-moved", "refund in_sub_1_0 900 slipped-1-1"],
            shelf.Provider.Wishes);
        Assert.Contains("€9.00 are on the way back", await shelf.TextAsync("credit-back:"), StringComparison.Ordinal);
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.False(await DueAsync(shelf));
    }

    [Fact]
    public async Task Once_a_payment_came_from_which_it_was_taken_it_stays_where_it_is()
    {
        await using var shelf = await JoinedAsync();
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        shelf.Clock.SetUtcNow(shelf.Now.AddMonths(1));
        shelf.Provider.Happens("sub_1", m => m.Paid(Told.Payment("in_2", shelf.Now) with { Minor = 0 }));
        await shelf.LookAsync("sub_1");
        await shelf.LeaveAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId));
        Assert.False(await DueAsync(shelf));
    }

    [Fact]
    public async Task Who_takes_the_joining_back_has_the_money_once()
    {
        await using var shelf = await JoinedAsync();
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Equal(new LeaveOutcome.TakenBack(900, "EUR"), await shelf.WithdrawAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId)));
        await MoneyAsync(shelf);
        Assert.Equal(
            ["credit cus_sub_1 900 EUR slipped-1-1", "refund in_sub_1_0  withdraw-in_sub_1_0", "end sub_1", "credit cus_sub_1 -900 EUR slipped-1-1-moved"],
            shelf.Provider.Wishes);
        Assert.Equal("", await shelf.MonthsAsync());
        Assert.DoesNotContain("credit-back", await shelf.MailsAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task No_more_goes_back_than_was_paid()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        // The invoice was settled by an earlier credit.
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now).With("in_sub_1_0", p => p with { Minor = 0 }));
        await shelf.LookAsync("sub_1");
        await shelf.LeaveAsync(new Leaver.SignedIn((await shelf.MembershipAsync()).PersonId));
        await CreditAsync(shelf);
        Assert.Null(await MoneyAsync(shelf));
        Assert.Equal(["leave sub_1 False"], shelf.Provider.Wishes);
        Assert.DoesNotContain("credit", await shelf.MailsAsync(), StringComparison.Ordinal);
    }

    [Theory]
    // 90 euros a year are 7.50 a month; of 100 a twelfth is 8.33 and a third of a cent, in the member's favour 8.34.
    [InlineData(9000, 750)]
    [InlineData(10_000, 834)]
    public async Task Of_a_year_it_is_a_twelfth(long paid, long credited)
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now, months: 12).With("in_sub_1_0", p => p with { Minor = paid, PriceMinor = paid }));
        await shelf.LookAsync("sub_1");
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Equal([$"credit cus_sub_1 {credited} EUR slipped-1-1"], shelf.Provider.Wishes);
    }

    [Fact]
    public async Task What_was_paid_by_an_earlier_credit_counts_in_full_and_what_went_back_does_not()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now).With("in_sub_1_0", p => p with { Minor = 0 }));
        shelf.Provider.Begins(Told.Begun("sub_2", shelf.Now, "robin@post.example").With("in_sub_2_0", p => p with { RefundedMinor = 400, RefundedAt = shelf.Now }));
        foreach (var id in new[] { "sub_1", "sub_2" })
            await shelf.LookAsync(id);
        await CreditAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Equal(["credit cus_sub_1 900 EUR slipped-1-1", "credit cus_sub_2 500 EUR slipped-1-2"], shelf.Provider.Wishes);
    }

    [Fact]
    public async Task Who_pays_for_it_later_is_not_credited()
    {
        await using var shelf = await JoinedAsync();
        await CreditAsync(shelf);
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        shelf.Provider.Begins(Told.Begun("sub_2", shelf.Now, "robin@post.example"));
        await shelf.LookAsync("sub_2");
        await MoneyAsync(shelf);
        Assert.Single(shelf.Provider.Wishes);
    }

    [Fact]
    public async Task Hundreds_are_written_in_parts_and_a_refused_one_holds_up_nobody()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        for (var n = 1; n <= 2 * WriteCredits.AtATime + 1; n++)
        {
            shelf.Provider.Begins(Told.Begun($"sub_{n}", shelf.Now, $"wren{n}@post.example"));
            await shelf.LookAsync($"sub_{n}");
        }
        await CreditAsync(shelf);
        shelf.Provider.Refuses = "credit cus_sub_7 ";
        Assert.StartsWith("The month that slipped could not be credited to 1 member yet", await MoneyAsync(shelf), StringComparison.Ordinal);
        Assert.Equal(2 * WriteCredits.AtATime, shelf.Provider.Wishes.Count);
        shelf.Provider.Refuses = null;
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Equal(2 * WriteCredits.AtATime + 1, shelf.Provider.Wishes.Distinct().Count());
    }

    [Fact]
    public async Task Nobody_paid_or_no_reason_nothing_is_written()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        Assert.Equal(CreditMonthOutcome.NobodyPaid, await CreditAsync(shelf));
        Assert.Equal(CreditMonthOutcome.NoReason, await CreditAsync(shelf, ""));
        Assert.Equal(0, await shelf.AskAsync(db => db.MonthCredits.CountAsync()));
    }

    private static async Task<PayingShelf> JoinedAsync()
    {
        var shelf = await PayingShelf.MakeAsync();
        await shelf.FinishAsync(await shelf.PayAsync());
        return shelf;
    }

    private static Task<CreditMonthOutcome> CreditAsync(PayingShelf shelf, string reason = "The kiln broke.") => shelf.AskAsync(db =>
        new CreditMonth(db, shelf.Clock).RunAsync(new YearMonth(2026, 11), reason, default));

    private static Task<bool> DueAsync(PayingShelf shelf) => shelf.AskAsync(db => new FindMoneyDue(db, shelf.Clock, shelf.Settings).RunAsync(default));

    private static async Task<string?> MoneyAsync(PayingShelf shelf)
    {
        await shelf.AskAsync(db => new WriteCredits(db, shelf.Clock).RunAsync(PayingShelf.Address, default));
        await shelf.AskAsync(db => new MoveCredits(db, shelf.Clock).RunAsync(PayingShelf.Address, default));
        return await shelf.AskAsync(db => new PayCredits(
            db, shelf.Provider, new LookAgain(db, shelf.Provider, shelf.Clock, shelf.Settings), shelf.Clock).RunAsync(PayingShelf.Address, default));
    }
}
