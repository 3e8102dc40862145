using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors of money are knocked at with, each time something fresh.</summary>
internal sealed class MoneyThings(DoorWorld world)
{
    private ShelfHost Host => world.Host;

    public async Task<long> PlanAsync()
    {
        var plan = new Plan { Minor = 600, Currency = "EUR" };
        await Host.WithDbAsync(async db =>
        {
            db.Plans.Add(plan);
            await db.SaveChangesAsync();
        });
        return plan.Id;
    }

    /// <summary>From a plan somebody pays by to another, forty days from now.</summary>
    public async Task<KeyValuePair<string, string>[]> PricesAsync()
    {
        var (from, to) = (await PlanAsync(), await PlanAsync());
        await PayerAsync(from);
        var day = Host.Services.GetRequiredService<TimeProvider>().GetUtcNow().AddDays(40);
        return [new("From", $"{from}"), new("To", $"{to}"), new("FirstDay", day.ToString("yyyy-MM-dd", System.Globalization.CultureInfo.InvariantCulture)), new("Reason", "Reeds cost more.")];
    }

    private async Task<PaidMembership> PayerAsync(long plan)
    {
        var token = $"payer-{world.Next()}";
        var now = Host.Services.GetRequiredService<TimeProvider>().GetUtcNow();
        var membership = new PaidMembership { PlanId = plan, ProviderId = $"sub_{token}", CustomerId = "cus_1", StartedAt = now.AddDays(-1), PaidThrough = now.AddDays(30), ActiveUntil = now.AddDays(37) };
        await Host.WithDbAsync(async db =>
        {
            var person = new Person { Email = $"payer-{world.Next()}@post.example", CreatedAt = DateTimeOffset.UnixEpoch };
            db.Users.Add(person);
            await db.SaveChangesAsync();
            membership.PersonId = person.Id;
            db.PaidMemberships.Add(membership);
            await db.SaveChangesAsync();
        });
        return membership;
    }

    public async Task<long> PriceChangeAsync()
    {
        var change = new PriceChange { FromPlanId = await PlanAsync(), ToPlanId = await PlanAsync(), Reason = "Reeds cost more.", From = DateTimeOffset.UnixEpoch.AddYears(100) };
        await Host.WithDbAsync(async db =>
        {
            db.PriceChanges.Add(change);
            await db.SaveChangesAsync();
        });
        return change.Id;
    }

    /// <summary>A month of its own each time: "1999-03".</summary>
    public async Task<string> PaidMonthAsync()
    {
        var membership = await PayerAsync(await PlanAsync());
        var month = new NodaTime.YearMonth(1970, 1).PlusMonths(world.Next());
        await Host.WithDbAsync(async db =>
        {
            var paid = new Payment { Id = $"in_{membership.ProviderId}", PaidMembershipId = membership.Id, PersonId = membership.PersonId, Minor = 600, PriceMinor = 600, Currency = "EUR", Months = 1 };
            db.Payments.Add(paid);
            db.PaidMonths.Add(new PaidMonth { PersonId = membership.PersonId, Month = month, PaymentId = paid.Id });
            await db.SaveChangesAsync();
        });
        return NodaTime.Text.YearMonthPattern.Iso.Format(month);
    }

    /// <summary>The token of the way back from a payment page that is still open.</summary>
    public async Task<string> JoiningTokenAsync()
    {
        var token = $"joining-{world.Next()}";
        var plan = await PlanAsync();
        await Host.WithDbAsync(async db =>
        {
            db.Joinings.Add(new Joining { PlanId = plan, Email = "joins@post.example", NormalizedEmail = "JOINS@POST.EXAMPLE", TokenHash = Sha256(token), CheckoutId = $"cs_{token}" });
            // Joining stays closed for the others' knocks.
            (await db.Plans.FindAsync(plan))!.ClosedAt = DateTimeOffset.UnixEpoch;
            await db.SaveChangesAsync();
        });
        return token;
    }

    /// <summary>The token of a mailed link to leave a membership that goes on.</summary>
    public async Task<string> LeaveTokenAsync()
    {
        var token = $"leave-{world.Next()}";
        await Host.WithDbAsync(async db =>
        {
            var person = new Person { Email = $"payer-{world.Next()}@post.example", CreatedAt = DateTimeOffset.UnixEpoch };
            db.Users.Add(person);
            await db.SaveChangesAsync();
            var membership = new PaidMembership { PersonId = person.Id, ProviderId = $"sub_{token}", CustomerId = "cus_1" };
            db.PaidMemberships.Add(membership);
            await db.SaveChangesAsync();
            db.LeaveTickets.Add(new() { PaidMembershipId = membership.Id, TokenHash = Sha256(token) });
            await db.SaveChangesAsync();
        });
        return token;
    }

    private static string Sha256(string text) =>
        Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(System.Text.Encoding.UTF8.GetBytes(text)));
}
