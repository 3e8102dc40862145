using LibraryShelf.Core.Accounts;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Accounts;

public sealed class ClaimShelfTests
{
    private static readonly ShopForm Tinworks = new(
        "Tinworks", "Tins.", "hello@tinworks.example", "Europe/Lisbon", "GBP", "1 Quay\nSaltmarsh",
        StartingTexts.English.Terms, StartingTexts.English.Privacy, StartingTexts.English.Licence);

    private static async Task<string?> OfferAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await new OfferClaim(db, shelf.Clock).RunAsync(CancellationToken.None);
    }

    private static async Task<ClaimOutcome> ClaimAsync(TempShelf shelf, string token, ShopForm? form = null, string password = "twelve chars")
    {
        await using var db = shelf.Open();
        return await new ClaimShelf(db, shelf.Clock, new PasswordHasher<Person>())
            .RunAsync(token, form ?? Tinworks, "maker@tinworks.example", password, CancellationToken.None);
    }

    [Fact]
    public async Task Of_two_claims_at_once_one_gets_the_shelf()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var token = (await OfferAsync(shelf))!;
        var outcomes = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => Task.Run(() => ClaimAsync(shelf, token))));
        Assert.Single(outcomes, o => o is ClaimOutcome.Claimed);
        await using var db = shelf.Open();
        Assert.True((await db.Users.SingleAsync()).IsMaker);
        Assert.Equal("1 Quay\nSaltmarsh", (await db.Shops.SingleAsync()).PostalAddress);
        Assert.Null(await OfferAsync(shelf));
    }

    [Fact]
    public async Task The_link_works_for_a_week()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var token = (await OfferAsync(shelf))!;
        shelf.Clock.Advance(OfferClaim.Works);
        Assert.Equal(TicketState.Expired, Assert.IsType<ClaimOutcome.LinkRefused>(await ClaimAsync(shelf, token)).State);
    }

    [Theory]
    [InlineData("eleven char", "Password")]
    [InlineData("", "Password")]
    public async Task A_short_password_is_refused_and_nothing_is_written(string password, string field)
    {
        await using var shelf = await TempShelf.MakeAsync();
        var token = (await OfferAsync(shelf))!;
        var refused = Assert.IsType<ClaimOutcome.Refused>(await ClaimAsync(shelf, token, password: password));
        Assert.Equal(field, Assert.Single(refused.Troubles).Field);
        await using var db = shelf.Open();
        Assert.Equal(0, await db.Users.CountAsync() + await db.Shops.CountAsync());
        Assert.IsType<ClaimOutcome.Claimed>(await ClaimAsync(shelf, token));
    }

    [Fact]
    public void Starting_texts_speak_to_visitors_and_not_to_the_maker()
    {
        foreach (var text in new[] { StartingTexts.English.Terms, StartingTexts.English.Privacy, StartingTexts.English.Licence })
            Assert.DoesNotMatch("(?i)starting text|legal advice|have it checked", text);
    }

    [Fact]
    public void Every_offered_currency_and_time_zone_is_taken()
    {
        Assert.All(ShopForm.Currencies, c => Assert.Empty((Tinworks with { Currency = c }).Troubles()));
        Assert.All(ShopForm.TimeZones, z => Assert.Empty((Tinworks with { TimeZone = z }).Troubles()));
        Assert.Contains("Europe/Lisbon", ShopForm.TimeZones);
        Assert.Equal("Currency", Assert.Single((Tinworks with { Currency = "XXX" }).Troubles()).Field);
    }
}
