using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
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

    /// <summary>What promised too much is put right wherever it stands beside the shop's text of now, sealed or not; a text of before keeps the line it went out with.</summary>
    [Fact]
    public async Task A_licence_in_short_is_put_right_at_every_version_with_this_very_text()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var first = Tinworks with { Licence = "Sing.\n\nBut don’t sell.\n", LicenceInShort = " Sing\r\nand sell. " };
        Assert.IsType<ClaimOutcome.Claimed>(await ClaimAsync(shelf, (await OfferAsync(shelf))!, first));
        await using (var db = shelf.Open())
        {
            var library = new Library { Slug = "jam", Title = "Jam-jar Marimba", CreatedAt = shelf.Clock.GetUtcNow() };
            foreach (var (number, text, line, spdx) in new[]
            {
                ("1.0.0", first.Licence, "Sing and sell.", null), ("1.1.0", first.Licence.Trim(), "Sing and sell.", null), ("1.2.0", first.Licence, "Hers alone.", null),
                ("1.3.0", "Another.", "Sing and sell.", null), ("1.4.0", "", "", "CC0-1.0"), ("1.5.0", "", "", null),
            })
            {
                var release = new Release { Number = number, LicenceText = text, LicenceInShort = line, LicenceSpdx = spdx, CreatedAt = shelf.Clock.GetUtcNow() };
                if (number == "1.0.0")
                    Assert.True(release.MoveTo(ReleaseState.Checked, shelf.Clock.GetUtcNow()) && release.MoveTo(ReleaseState.Sealed, shelf.Clock.GetUtcNow()));
                library.Releases.Add(release);
            }
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
        }
        Assert.Equal("LicenceInShort", Assert.Single(Assert.IsType<EditShopOutcome.Refused>(await EditAsync(first with { Licence = " ", LicenceInShort = "Sing." })).Troubles).Field);
        Assert.Equal("Sing and sell.", await LineAsync("1.0.0"));

        Assert.Null(Assert.IsType<EditShopOutcome.Kept>(await EditAsync(first with { LicenceInShort = "Sing, don’t sell." })).Reminder);
        foreach (var (number, line) in new[] { ("1.0.0", "Sing, don’t sell."), ("1.1.0", "Sing, don’t sell."), ("1.2.0", "Hers alone."), ("1.3.0", "Sing and sell."), ("1.4.0", ""), ("1.5.0", "") })
            Assert.Equal((number, line), (number, await LineAsync(number)));

        Assert.Contains("whether it still fits", Assert.IsType<EditShopOutcome.Kept>(await EditAsync(first with { Licence = "Sell.", LicenceInShort = "Sing, don’t sell." })).Reminder, StringComparison.Ordinal);
        Assert.Null(Assert.IsType<EditShopOutcome.Kept>(await EditAsync(first with { Licence = "Sell on.", LicenceInShort = "Sell." })).Reminder);
        Assert.Equal("Sing, don’t sell.", await LineAsync("1.0.0"));

        async Task<EditShopOutcome> EditAsync(ShopForm form)
        {
            await using var db = shelf.Open();
            return await new EditShop(db, shelf.Clock).RunAsync(form, (await db.Shops.AsNoTracking().SingleAsync()).Revision, CancellationToken.None);
        }

        async Task<string> LineAsync(string number)
        {
            await using var db = shelf.Open();
            return await db.Releases.Where(r => r.Number == number).Select(r => r.LicenceInShort).SingleAsync();
        }
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
