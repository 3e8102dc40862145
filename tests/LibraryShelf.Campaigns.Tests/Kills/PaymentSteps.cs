using System.Net;
using System.Text.Json;
using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>
/// Somebody joins, pays at the stand-in and comes back. What the stand-in keeps (practice.json) is the payment provider's word;
/// the shelf stands as it says, or as before, and in the end as it says.
/// </summary>
internal sealed class Paid(TrialShelf shelf) : KilledStep(shelf, "Paid Box")
{
    private string email = "";

    public override async Task SetUpAsync()
    {
        await using var db = Shelf.Open();
        db.Plans.Add(new Plan { Minor = 600, Currency = "EUR", CreatedAt = TimeProvider.System.GetUtcNow() });
        await db.SaveChangesAsync();
    }

    public override Task MakeReadyAsync(int point)
    {
        email = $"wren{point}@post.example";
        return Task.CompletedTask;
    }

    public override async Task BeginAsync()
    {
        using var visitor = Shelf.NewBrowser();
        var forms = new Forms(visitor);
        var plan = await AskAsync(db => db.Plans.Select(p => p.Id).SingleAsync());
        var page = await forms.PressAsync("/join", "", ("Email", email), ("Plan", $"{plan}"), ("ConsentWords", ""));
        var back = await forms.PressAsync(page.PathAndQuery, "", ("card", "good"));
        using var answer = await visitor.GetAsync(back);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
    }

    public override Task<bool> IsOverAsync() => AskAsync(async db => await StandsAsync(db) is { Payments: 1, Months: 1, Mails: 1 });

    /// <summary>A membership, its payment, its month and its mail are one transaction: all or none.</summary>
    public override async Task LookAsync(ShelfDb db)
    {
        var stands = await StandsAsync(db);
        Assert.True(stands is (0, 0, 0, 0) or (1, 1, 1, 1), $"half a membership: {stands}");
        Assert.True(stands.Memberships == 0 || PaidAtTheProvider(), "a membership the provider knows nothing of");
        Assert.Equal(0, await db.Joinings.CountAsync(j => j.Email == email && j.PaidAt != null) - stands.Memberships);
    }

    public override async Task GoOnAsync()
    {
        if (!PaidAtTheProvider())
            await BeginAsync();
        await Waiting.UntilAsync("the membership stands", IsOverAsync);
        await Waiting.UntilAsync("every message is followed up", () => AskAsync(async db => !await db.PaymentEvents.AnyAsync(e => e.DoneAt == null)));
        Assert.Equal((1, 1, 1, 1), await AskAsync(StandsAsync));
    }

    private Task<(int Memberships, int Payments, int Months, int Mails)> StandsAsync(ShelfDb db) => StandsAsync(db, email);

    private static async Task<(int Memberships, int Payments, int Months, int Mails)> StandsAsync(ShelfDb db, string email)
    {
        var people = db.Users.Where(p => p.Email == email).Select(p => p.Id);
        return (await db.PaidMemberships.CountAsync(m => people.Contains(m.PersonId)), await db.Payments.CountAsync(p => people.Contains(p.PersonId)),
            await db.PaidMonths.CountAsync(m => people.Contains(m.PersonId)), await db.Outbox.CountAsync(m => m.To == email && m.Cause.StartsWith("joined:")));
    }

    private bool PaidAtTheProvider()
    {
        if (!File.Exists(Path.Combine(Shelf.Paths.Root, "practice.json")))
            return false;
        using var ledger = JsonDocument.Parse(File.ReadAllBytes(Path.Combine(Shelf.Paths.Root, "practice.json")));
        return ledger.RootElement.GetProperty("Customers").EnumerateArray().Any(c => c.GetProperty("Email").GetString() == email);
    }
}
