using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Tests;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Language.Tests;

/// <summary>A shop claimed in a language that nobody built in: all of it lies in the data directory.</summary>
[Collection(OneLanguage.AtATime)]
public sealed class ClaimInAnotherLanguageTests
{
    /// <summary>ISO 639-2 keeps qaa to qtz for local use.</summary>
    private const string Tag = "qaa";

    [Fact]
    public async Task The_shop_begins_with_the_texts_of_its_language_and_those_not_done_are_English()
    {
        await using var host = new ShelfHost { Settings = new() { ["Shelf:Language"] = Tag } };
        var languages = Directory.CreateDirectory(Path.Combine(host.DataFolder, "languages")).FullName;
        await File.WriteAllTextAsync(Path.Combine(languages, Tag + ".json"), """{ "language": "qaa", "texts": { "Claim the shelf": "Nem olu shelfa" } }""");
        Directory.CreateDirectory(Path.Combine(languages, Tag));
        await File.WriteAllTextAsync(Path.Combine(languages, Tag, "terms.md"), "Velk mo **{shop}**: {contact}.");

        var visitor = host.Visitor();
        var page = await visitor.PageAsync("/workbench/claim/" + await host.RunAsync<OfferClaim, string?>(offer => offer.RunAsync(CancellationToken.None)));
        Assert.Equal(Tag, page.DocumentElement.GetAttribute("lang"));
        Assert.Equal("Velk mo **{shop}**: {contact}.", page.QuerySelector("textarea[name='Shop.Terms']")!.TextContent);
        using (await visitor.PressAsync(page, "Nem olu shelfa", ("Email", "maker@tinworks.example"), ("Password", "four tins and a spoon"),
            ("Shop.Name", "Tinworks"), ("Shop.Contact", "hello@tinworks.example"), ("Shop.TimeZone", "Europe/Lisbon"), ("Shop.Currency", "GBP")))
        {
            var shop = await host.AskDbAsync(db => db.Shops.SingleAsync());
            Assert.Equal("Velk mo **Tinworks**: hello@tinworks.example.", shop.Terms);
            Assert.StartsWith("## Who is responsible", shop.Privacy, StringComparison.Ordinal);
            Assert.Contains("Tinworks made them with care", shop.Licence, StringComparison.Ordinal);
        }
        Assert.Contains("<strong>Tinworks</strong>", await host.Visitor().GetStringAsync(new Uri("/terms", UriKind.Relative)), StringComparison.Ordinal);
    }
}
