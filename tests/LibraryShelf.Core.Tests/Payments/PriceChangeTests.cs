using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>A monthly price of 9 euros becomes 11 for those who are members.</summary>
public sealed class PriceChangeTests
{
    [Fact]
    public async Task Told_at_once_in_force_from_the_first_renewal_after_the_day()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var dearer = await JoinedAndDearerAsync(shelf);
        Assert.Equal(ChangePricesOutcome.Announced, await ChangeAsync(shelf, dearer, days: 40));
        Assert.True(await IsBeingToldAsync(shelf));
        await shelf.AskAsync(db => new TellPriceChanges(db, shelf.Clock).RunAsync(PayingShelf.Address, default));
        Assert.True(await IsBeingToldAsync(shelf));
        Assert.Null(await MoneyAsync(shelf));
        Assert.False(await IsBeingToldAsync(shelf));
        var mail = await shelf.TextAsync("price:");
        Assert.Contains("€9.00 a month today", mail, StringComparison.Ordinal);
        Assert.Contains("€11.00 a month", mail, StringComparison.Ordinal);
        Assert.Contains("Reeds cost more.", mail, StringComparison.Ordinal);
        Assert.Contains($"{PayingShelf.Address}/leave/", mail, StringComparison.Ordinal);
        Assert.False(await DueAsync(shelf));
        shelf.Clock.Advance(TimeSpan.FromDays(39));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Empty(shelf.Provider.Wishes);
        shelf.Clock.Advance(TimeSpan.FromDays(2));
        Assert.True(await DueAsync(shelf));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Equal([$"price sub_1 price_{dearer} price-1-1"], shelf.Provider.Wishes);
        Assert.Equal(dearer, (await shelf.MembershipAsync()).PlanId);
        Assert.Equal("joined price", await shelf.MailsAsync());
        Assert.False(await DueAsync(shelf));
    }

    [Fact]
    public async Task Nobody_joins_by_the_old_plan_any_more()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await ChangeAsync(shelf, await JoinedAndDearerAsync(shelf));
        Assert.Equal(JoinRefusal.ChangedMeanwhile, Assert.IsType<JoinOutcome.Refused>(await shelf.StartAsync("robin@post.example")).Why);
    }

    [Theory]
    [InlineData(29, ChangePricesOutcome.TooSoon)]
    [InlineData(31, ChangePricesOutcome.Announced)]
    public async Task They_have_the_days_of_the_setting_to_leave(int days, ChangePricesOutcome outcome)
    {
        await using var shelf = await PayingShelf.MakeAsync();
        Assert.Equal(outcome, await ChangeAsync(shelf, await JoinedAndDearerAsync(shelf), days));
    }

    [Fact]
    public async Task Told_late_it_is_in_force_late()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await ChangeAsync(shelf, await JoinedAndDearerAsync(shelf), days: 31);
        // The server was down meanwhile; the membership goes on.
        shelf.Clock.Advance(TimeSpan.FromDays(35));
        Renew(shelf);
        await shelf.LookAsync("sub_1");
        await MoneyAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Empty(shelf.Provider.Wishes);
        shelf.Clock.Advance(TimeSpan.FromDays(30));
        await MoneyAsync(shelf);
        Assert.Single(shelf.Provider.Wishes);
    }

    [Fact]
    public async Task Who_leaves_in_time_never_pays_it()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await ChangeAsync(shelf, await JoinedAndDearerAsync(shelf), days: 40);
        await MoneyAsync(shelf);
        shelf.Provider.Happens("sub_1", m => m with { EndedAt = shelf.Now });
        await shelf.LookAsync("sub_1");
        shelf.Clock.Advance(TimeSpan.FromDays(41));
        await MoneyAsync(shelf);
        Assert.Empty(shelf.Provider.Wishes);
        Assert.NotNull((await shelf.AskAsync(db => db.PriceChangeLines.SingleAsync())).SkippedAt);
    }

    [Fact]
    public async Task Called_off_they_keep_the_old_price_and_hear_of_it()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await ChangeAsync(shelf, await JoinedAndDearerAsync(shelf), days: 40);
        await MoneyAsync(shelf);
        Assert.True(await CallOffAsync(shelf));
        Assert.False(await CallOffAsync(shelf));
        shelf.Clock.Advance(TimeSpan.FromDays(41));
        await MoneyAsync(shelf);
        Assert.Empty(shelf.Provider.Wishes);
        Assert.Equal("joined price price-off", await shelf.MailsAsync());
    }

    [Fact]
    public async Task Called_off_after_the_provider_may_have_been_told_it_is_told_the_old_price()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var dearer = await JoinedAndDearerAsync(shelf);
        await ChangeAsync(shelf, dearer, days: 40);
        await MoneyAsync(shelf);
        shelf.Clock.Advance(TimeSpan.FromDays(41));
        // The program ends between the provider's yes and the row.
        await shelf.AskAsync(async db =>
        {
            var line = await db.PriceChangeLines.SingleAsync();
            line.NextTryAt = shelf.Now;
            await db.SaveChangesAsync();
            await shelf.Provider.ChangePriceAsync("sub_1", $"price_{dearer}", "price-1-1", default);
            return true;
        });
        Assert.True(await CallOffAsync(shelf));
        Assert.True(await DueAsync(shelf));
        await MoneyAsync(shelf);
        await MoneyAsync(shelf);
        Assert.Equal([$"price sub_1 price_{dearer} price-1-1", $"price sub_1 price_{shelf.PlanId} price-off-1-1"], shelf.Provider.Wishes);
        Assert.Equal(shelf.PlanId, (await shelf.MembershipAsync()).PlanId);
        Assert.False(await DueAsync(shelf));
    }

    [Fact]
    public async Task With_the_provider_away_the_old_price_holds_and_it_is_tried_again()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var dearer = await JoinedAndDearerAsync(shelf);
        await ChangeAsync(shelf, dearer, days: 40);
        await MoneyAsync(shelf);
        shelf.Clock.Advance(TimeSpan.FromDays(41));
        shelf.Provider.IsAway = true;
        Assert.StartsWith("The new price of 1 member could not be told", await MoneyAsync(shelf), StringComparison.Ordinal);
        shelf.Provider.IsAway = false;
        Assert.False(await DueAsync(shelf));
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        Assert.True(await DueAsync(shelf));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Equal(dearer, (await shelf.MembershipAsync()).PlanId);
    }

    [Fact]
    public async Task Announced_twice_each_is_told_once()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var dearer = await JoinedAndDearerAsync(shelf);
        await ChangeAsync(shelf, dearer);
        await MoneyAsync(shelf);
        Assert.Equal(ChangePricesOutcome.NobodyPaysIt, await ChangeAsync(shelf, dearer));
        Assert.Equal("joined price", await shelf.MailsAsync());
    }

    [Fact]
    public async Task Only_between_plans_of_one_length_and_currency_and_with_a_reason()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var dearer = await JoinedAndDearerAsync(shelf);
        var yearly = await shelf.AskAsync(db => db.Plans.Where(p => p.Months == 12).Select(p => p.Id).SingleAsync());
        foreach (var to in new[] { yearly, shelf.PlanId, 999 })
            Assert.Equal(ChangePricesOutcome.NotTwoPlans, await ChangeAsync(shelf, to));
        Assert.Equal(ChangePricesOutcome.NoReason, await ChangeAsync(shelf, dearer, reason: " "));
        Assert.Equal(0, await shelf.AskAsync(db => db.PriceChanges.CountAsync()));
    }

    [Fact]
    public async Task Whom_the_mail_never_reached_keeps_the_old_price_until_told_long_enough_and_the_maker_hears_of_it()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var dearer = await JoinedAndDearerAsync(shelf);
        await ChangeAsync(shelf, dearer, days: 31);
        Assert.Null(await MoneyAsync(shelf, isMailed: false));
        shelf.Clock.Advance(TimeSpan.FromDays(32));
        Assert.StartsWith("1 member was not mailed that the price changes, so the old one holds", await MoneyAsync(shelf, isMailed: false), StringComparison.Ordinal);
        Assert.False(await DueAsync(shelf));
        // The mail server is back, or the mailbox: the 30 days to leave in begin now.
        await MoneyAsync(shelf);
        shelf.Clock.Advance(TimeSpan.FromDays(29));
        Assert.Null(await MoneyAsync(shelf));
        Assert.Empty(shelf.Provider.Wishes);
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        Assert.True(await DueAsync(shelf));
        await MoneyAsync(shelf);
        Assert.Equal([$"price sub_1 price_{dearer} price-1-1"], shelf.Provider.Wishes);
    }

    [Fact]
    public async Task A_price_mail_that_was_given_up_is_counted_and_tried_again_and_the_days_begin_when_it_is_sent()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var dearer = await JoinedAndDearerAsync(shelf);
        await ChangeAsync(shelf, dearer, days: 31);
        await MoneyAsync(shelf, isMailed: false);
        await shelf.AskAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("price:")).ExecuteUpdateAsync(s => s.SetProperty(m => m.GaveUpAt, shelf.Now).SetProperty(m => m.Attempts, 8)));
        shelf.Clock.Advance(TimeSpan.FromDays(40));
        Assert.Contains("there their mail is tried again", await MoneyAsync(shelf, isMailed: false), StringComparison.Ordinal);
        Assert.Empty(shelf.Provider.Wishes);
        var options = Microsoft.Extensions.Options.Options.Create(new LibraryShelf.Core.Shared.ShelfSettings());
        Assert.Equal(1, Assert.Single((await shelf.AskAsync(db => new ReadPrices(db, shelf.Clock, options).RunAsync(default))).Changes).Untold);

        var mail = await shelf.AskAsync(db => db.Outbox.AsNoTracking().SingleAsync(m => m.Cause.StartsWith("price:")));
        Assert.NotNull(mail.PersonId); // so that it goes to the address they have by now
        Assert.Equal(LibraryShelf.Core.Letters.TryMailAgainOutcome.Waits, await shelf.AskAsync(db => new LibraryShelf.Core.Letters.TryMailAgain(db, shelf.Clock).RunAsync(mail.Id, default)));
        await shelf.AskAsync(db => db.Outbox.Where(m => m.Id == mail.Id).ExecuteUpdateAsync(s => s.SetProperty(m => m.SentAt, shelf.Now)));
        Assert.Equal(0, Assert.Single((await shelf.AskAsync(db => new ReadPrices(db, shelf.Clock, options).RunAsync(default))).Changes).Untold);
        shelf.Clock.Advance(TimeSpan.FromDays(29));
        await MoneyAsync(shelf);
        Assert.Empty(shelf.Provider.Wishes);
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        await MoneyAsync(shelf);
        Assert.Equal([$"price sub_1 price_{dearer} price-1-1"], shelf.Provider.Wishes);
    }

    private static async Task<bool> IsBeingToldAsync(PayingShelf shelf) =>
        Assert.Single((await shelf.AskAsync(db => new ReadPrices(db, shelf.Clock, shelf.Settings).RunAsync(default))).Changes).IsBeingTold;

    private static void Renew(PayingShelf shelf) =>
        shelf.Provider.Happens("sub_1", m => m.Paid(Told.Payment("in_next", m.Payments.Max(p => p.PeriodEnd), paid: shelf.Now)));

    /// <returns>The plan of eleven euros.</returns>
    private static async Task<long> JoinedAndDearerAsync(PayingShelf shelf)
    {
        await shelf.FinishAsync(await shelf.PayAsync());
        // The price the checkout was for, and a second month paid ahead of the tests' days.
        shelf.Provider.Happens("sub_1", m => (m with { PriceId = $"price_{shelf.PlanId}" }).Paid(Told.Payment("in_2", m.Payments[0].PeriodEnd, paid: shelf.Now)));
        await shelf.LookAsync("sub_1");
        return await shelf.AskAsync(async db =>
        {
            var dearer = new Plan { Minor = 1100, CreatedAt = shelf.Now };
            db.Plans.Add(dearer);
            await db.SaveChangesAsync();
            return dearer.Id;
        });
    }

    private static Task<ChangePricesOutcome> ChangeAsync(PayingShelf shelf, long to, int days = 40, string reason = "Reeds cost more.") => shelf.AskAsync(db =>
        new ChangePrices(db, shelf.Clock, shelf.Settings).RunAsync(new NewPrice(shelf.PlanId, to, DateOnly.FromDateTime(shelf.Now.AddDays(days).UtcDateTime), reason), default));

    private static Task<bool> CallOffAsync(PayingShelf shelf) => shelf.AskAsync(db => new CallOffPrices(db, shelf.Clock).RunAsync(1, default));

    private static Task<bool> DueAsync(PayingShelf shelf) => shelf.AskAsync(db => new FindMoneyDue(db, shelf.Clock, shelf.Settings).RunAsync(default));

    private static async Task<string?> MoneyAsync(PayingShelf shelf, bool isMailed = true)
    {
        await shelf.AskAsync(db => new TellPriceChanges(db, shelf.Clock).RunAsync(PayingShelf.Address, default));
        if (isMailed)
            await shelf.AskAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("price:") && m.SentAt == null).ExecuteUpdateAsync(s => s.SetProperty(m => m.SentAt, shelf.Now)));
        return await shelf.AskAsync(db => new ApplyPriceChanges(
            db, shelf.Provider, new LookAgain(db, shelf.Provider, shelf.Clock, shelf.Settings), shelf.Clock, shelf.Settings).RunAsync(PayingShelf.Address, default));
    }
}
