using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Shared;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The shop's fields as a form holds them: a browser sends an empty field as nothing at all.</summary>
public sealed class ShopFields
{
    public string? Name { get; set; }
    public string? MakerLine { get; set; }
    public string? Contact { get; set; }
    public string? TimeZone { get; set; } = "Etc/UTC";
    public string? Currency { get; set; } = "EUR";
    public string? PostalAddress { get; set; }
    public string? Terms { get; set; } = StartingTexts.Spoken.Terms;
    public string? Privacy { get; set; } = StartingTexts.Spoken.Privacy;
    public string? Licence { get; set; } = StartingTexts.Spoken.Licence;
    public string? LicenceInShort { get; set; }

    public ShopForm ToForm() => new(
        Name ?? "", MakerLine ?? "", Contact ?? "", TimeZone ?? "", Currency ?? "", PostalAddress ?? "",
        Terms ?? "", Privacy ?? "", Licence ?? "") { LicenceInShort = LicenceInShort ?? "" };

    public static ShopFields Of(Shop shop) => new()
    {
        Name = shop.Name, MakerLine = shop.MakerLine, Contact = shop.Contact, TimeZone = shop.TimeZone, Currency = shop.Currency,
        PostalAddress = shop.PostalAddress, Terms = shop.Terms, Privacy = shop.Privacy, Licence = shop.Licence, LicenceInShort = shop.LicenceInShort,
    };
}

/// <summary>The shop's fields with what is wrong with them.</summary>
public sealed record ShopFieldsView(ShopFields Shop, IReadOnlyList<Refusal> Troubles)
{
    public const string Prefix = "Shop.";

    public string? ErrorOf(string field) => Troubles.FirstOrDefault(t => t.Field == field)?.Words;

    /// <param name="what">What happened and what is kept.</param>
    /// <param name="ownFields">Fields of the page itself, which stand outside <see cref="Prefix"/>.</param>
    public Problems ToProblems(string what, params string[] ownFields) => new(what, [.. Troubles.Select(t =>
        (ownFields.Contains(t.Field) ? t.Field : new Field(Prefix + t.Field, "").Id, t.Words))]);
}
