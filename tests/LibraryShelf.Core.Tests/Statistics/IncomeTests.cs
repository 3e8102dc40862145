using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>
/// Monthly recurring revenue by Stripe's documents: docs.stripe.com/billing/subscriptions/analytics/glossary, and the answers of support.stripe.com/questions
/// "billing-analytics" and "impact-of-subscription-cancellations-on-monthly-recurring-revenue-mrr-in-billing".
/// </summary>
public sealed class IncomeTests
{
    private static async Task<T> AskAsync<T>(TempShelf shelf, Func<ShelfDb, Task<T>> ask)
    {
        await using var db = shelf.Open();
        return await ask(db);
    }

    private static async Task AddAsync(TempShelf shelf, int people, long minor, int months, string currency, Action<PaidMembership>? change = null)
    {
        await using var db = shelf.Open();
        var (now, plan) = (shelf.Clock.GetUtcNow(), new Plan { Minor = minor, Months = months, Currency = currency });
        var payers = Enumerable.Range(0, people).Select(i => People.New($"p{i}-{minor}-{months}-{currency}-{Guid.NewGuid():N}@example.org", now)).ToList();
        db.Add(plan);
        db.AddRange(payers);
        await db.SaveChangesAsync();
        foreach (var payer in payers)
        {
            var membership = new PaidMembership { PersonId = payer.Id, PlanId = plan.Id, ProviderId = $"sub_{payer.Id}", StartedAt = now.AddDays(-10), PaidThrough = now.AddDays(20), ActiveUntil = now.AddDays(27) };
            change?.Invoke(membership);
            db.Add(membership);
        }
        await db.SaveChangesAsync();
    }

    private static async Task<string> NowAsync(TempShelf shelf) => string.Join("; ", (await AskAsync(shelf, db => Income.NowAsync(db, shelf.Clock.GetUtcNow(), default))).Select(i => $"{i.Currency} {i.Minor} of {i.Memberships}"));

    /// <summary>
    /// "100 subscribers are on Plan A (100 USD per month) and 50 subscribers are on Plan B (600 USD per year)": 12,500 USD. (The formula printed beside it has 800/12 where
    /// 600/12 is meant, which alone comes to the sum it gives.)
    /// </summary>
    [Fact]
    public async Task The_example_of_the_glossary()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await AddAsync(shelf, 100, 100_00, 1, "USD");
        await AddAsync(shelf, 50, 600_00, 12, "USD");
        Assert.Equal("USD 1250000 of 150", await NowAsync(shelf));
    }

    /// <summary>"An annual subscription for $1,200 only counts $100 towards your MRR."</summary>
    [Fact]
    public void A_year_counts_a_twelfth_rounded_once() =>
        Assert.Equal((100_00L, 2_500L, 833L, 834L), (Income.AMonth([(1_200_00, 12)]), Income.AMonth([(30_000, 12)]), Income.AMonth([(10_000, 12)]), Income.AMonth([(10_000, 12), (5, 12)])));

    [Fact]
    public async Task Sentence_by_sentence()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var now = shelf.Clock.GetUtcNow();
        // "All your active and past_due subscriptions": in grace it counts.
        await AddAsync(shelf, 1, 500, 1, "GBP");
        await AddAsync(shelf, 1, 700, 1, "GBP", m => (m.IsRefused, m.PaidThrough, m.ActiveUntil) = (true, now.AddDays(-2), now.AddDays(5)));
        Assert.Equal("GBP 1200 of 2", await NowAsync(shelf));
        // "Once a subscription is unpaid rather than active, the amount does not count"; one that is over does not either.
        await AddAsync(shelf, 1, 900, 1, "GBP", m => (m.IsRefused, m.PaidThrough, m.ActiveUntil) = (true, now.AddDays(-20), now.AddDays(-13)));
        await AddAsync(shelf, 1, 900, 1, "GBP", m => (m.EndedAt, m.ActiveUntil) = (now, now));
        // "If you cancel a subscription using cancel_at_period_end, the subscription will no longer count towards your MRR after the time of the API call".
        await AddAsync(shelf, 1, 900, 1, "GBP", m => m.LeavesAt = now.AddDays(20));
        // Resting: nothing is taken. Common practice, no source.
        await AddAsync(shelf, 1, 900, 1, "GBP", m => m.IsPaused = true);
        // Not begun.
        await AddAsync(shelf, 1, 900, 1, "GBP", m => m.StartedAt = now.AddMinutes(1));
        Assert.Equal("GBP 1200 of 2", await NowAsync(shelf));
        // Currencies by themselves.
        await AddAsync(shelf, 3, 650, 1, "EUR");
        Assert.Equal("EUR 1950 of 3; GBP 1200 of 2", await NowAsync(shelf));
    }

    [Fact]
    public async Task A_month_that_is_over_keeps_what_it_last_came_to()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/London", Currency = "GBP" });
            await db.SaveChangesAsync();
        }
        Assert.True(await KeepAsync());
        Assert.Equal("2026-11 GBP 0", await LinesAsync());
        await AddAsync(shelf, 2, 600, 1, "GBP");
        // Within the hour it is let be; then it is written anew, once.
        Assert.False(await KeepAsync());
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        Assert.True(await KeepAsync());
        Assert.Equal("2026-11 GBP 1200", await LinesAsync());
        // Next month by the shop's clock.
        shelf.Clock.SetUtcNow(new DateTimeOffset(2026, 12, 1, 0, 0, 0, TimeSpan.Zero));
        await AddAsync(shelf, 1, 600, 1, "GBP");
        Assert.True(await KeepAsync());
        Assert.Equal("2026-11 GBP 1200; 2026-12 GBP 1800", await LinesAsync());
        // All have left: nothing is a figure too.
        await AskAsync(shelf, db => db.PaidMemberships.ExecuteUpdateAsync(s => s.SetProperty(m => m.LeavesAt, shelf.Clock.GetUtcNow().AddDays(3))));
        shelf.Clock.Advance(TimeSpan.FromHours(2));
        Assert.True(await KeepAsync());
        Assert.Equal("2026-11 GBP 1200; 2026-12 GBP 0", await LinesAsync());

        Task<bool> KeepAsync() => AskAsync(shelf, db => new KeepIncome(db, shelf.Clock).RunAsync(default));
        async Task<string> LinesAsync() => string.Join("; ", (await AskAsync(shelf, db => db.MonthIncomes.AsNoTracking().OrderBy(i => i.Month).ToListAsync())).Select(i => $"{i.Month:uuuu-MM} {i.Currency} {i.Minor}"));
    }
}
