using System.Net;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Practice;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.TestHost;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Practice;

/// <summary>A host in practice mode. The client is the real one; what it asks goes to the host's own pipeline without a socket.</summary>
internal sealed class PracticeShop : IAsyncDisposable
{
    public static readonly PriceWish Monthly = new(1, "Membership of Saltmarsh Sound Room", 600, "GBP", 1, true);
    public static readonly PriceWish Yearly = Monthly with { PlanId = 2, Minor = 6000, Months = 12 };

    public PracticeShop(DateTimeOffset? start = null, bool runJobs = false)
    {
        Machine = new FakeTimeProvider(start ?? new DateTimeOffset(2026, 1, 31, 10, 0, 0, TimeSpan.Zero));
        Host = new ShelfHost
        {
            RunJobs = runJobs,
            Settings = new() { ["Shelf:Payments:Practice"] = "true" },
            Replace = services =>
            {
                services.AddKeyedSingleton<TimeProvider>(PracticeClock.Machine, Machine);
                services.AddSingleton(provider => new WayHome(
                    provider.GetRequiredService<IServer>(), provider.GetRequiredService<IConfiguration>(),
                    () => ((TestServer)provider.GetRequiredService<IServer>()).CreateHandler()));
            },
        };
    }

    public ShelfHost Host { get; }

    public FakeTimeProvider Machine { get; }

    public IPayments Payments => Host.Services.GetRequiredService<IPayments>();

    public StandIn StandIn => Host.Services.GetRequiredService<StandIn>();

    public DateTimeOffset Now => Host.Services.GetRequiredService<TimeProvider>().GetUtcNow();

    public async Task<Checkout> CheckoutAsync(PriceWish? wish = null, long joining = 7, string? customer = null)
    {
        await Host.ClaimAsync();
        var price = await Payments.MakePriceAsync(wish ?? Monthly, default);
        return await Payments.OpenCheckoutAsync(
            new CheckoutWish(joining, price, "wren@post.example", customer, new Uri("http://localhost/join/done/token"), new Uri("http://localhost/join")), default);
    }

    /// <summary>Presses the payment page's button as a browser would.</summary>
    public async Task<HttpResponseMessage> PressPayAsync(Checkout checkout, string card = "good")
    {
        var visitor = Host.Visitor();
        var page = await visitor.PageAsync(checkout.Page!.PathAndQuery);
        return await visitor.PressAsync(page, page.QuerySelector("button.solid")!.Words(), ("card", card));
    }

    /// <returns>The name of the membership that was paid for.</returns>
    public async Task<string> JoinAsync(PriceWish? wish = null, long joining = 7, string? customer = null)
    {
        var checkout = await CheckoutAsync(wish, joining, customer);
        using var answer = await PressPayAsync(checkout);
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        Assert.Equal("http://localhost/join/done/token", answer.Headers.Location?.OriginalString);
        var paid = await Payments.ReadCheckoutAsync(checkout.Id, default);
        Assert.True(paid!.IsPaid);
        Assert.Null(paid.Page);
        return paid.MembershipId!;
    }

    public async Task<ProviderMembership> ReadAsync(string membership) =>
        await Payments.ReadMembershipAsync(membership, default) ?? throw new InvalidOperationException("It is not there.");

    public void LetDaysPass(int days) => StandIn.LetPass(now => now.AddDays(days));

    public void LetMonthsPass(int months) => StandIn.LetPass(now => now.AddMonths(months));

    public ValueTask DisposeAsync() => Host.DisposeAsync();
}
