using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Shared;
using NodaTime;

namespace LibraryShelf.Core.Accounts;

/// <summary>What the maker says of her shop, as typed.</summary>
public sealed record ShopForm(
    string Name, string MakerLine, string Contact, string TimeZone, string Currency, string PostalAddress,
    string Terms, string Privacy, string Licence)
{
    /// <summary>What <see cref="Licence"/> comes to (<see cref="InShort"/>); "": not said.</summary>
    public string LicenceInShort { get; init; } = "";

    /// <summary>ISO 4217 codes offered, all with two decimals; by code.</summary>
    public static IReadOnlyList<string> Currencies { get; } =
        ["AUD", "CAD", "CHF", "CZK", "DKK", "EUR", "GBP", "NOK", "NZD", "PLN", "RON", "SEK", "USD"];

    /// <summary>IANA names, by name.</summary>
    public static IReadOnlyList<string> TimeZones { get; } = [.. DateTimeZoneProviders.Tzdb.Ids.Order(StringComparer.Ordinal)];

    private const int LongestLine = 200;
    internal const int LongestText = 100_000;

    /// <returns>What is wrong, by field; empty when nothing is.</returns>
    public IReadOnlyList<Refusal> Troubles()
    {
        List<Refusal> troubles = [];
        Need(troubles, nameof(Name), Name, T("The shop needs a name."));
        Need(troubles, nameof(Contact), Contact, T("Say how people can reach you."));
        foreach (var (field, value) in new[] { (nameof(Name), Name), (nameof(MakerLine), MakerLine), (nameof(Contact), Contact) })
            if (value.Length > LongestLine)
                troubles.Add(new(field, T($"That is too long: {LongestLine} characters at most.")));
        if (DateTimeZoneProviders.Tzdb.GetZoneOrNull(TimeZone) is null)
            troubles.Add(new(nameof(TimeZone), T("That time zone is not in the list. It looks like Europe/Lisbon.")));
        if (!Currencies.Contains(Currency))
            troubles.Add(new(nameof(Currency), T("Choose a currency from the list.")));
        foreach (var (field, value) in new[]
            { (nameof(PostalAddress), PostalAddress), (nameof(Terms), Terms), (nameof(Privacy), Privacy), (nameof(Licence), Licence) })
            if (value.Length > LongestText)
                troubles.Add(new(field, T($"That is too long: {LongestText} characters at most.")));
        if (InShort.Refuse(InShort.Tidy(LicenceInShort), Licence) is { } words)
            troubles.Add(new(nameof(LicenceInShort), words));
        return troubles;
    }

    internal void CopyTo(Shop shop)
    {
        shop.Name = Name.Trim();
        shop.MakerLine = MakerLine.Trim();
        shop.Contact = Contact.Trim();
        shop.TimeZone = TimeZone;
        shop.Currency = Currency;
        shop.PostalAddress = PostalAddress.Trim();
        shop.Terms = Filled(Terms);
        shop.Privacy = Filled(Privacy);
        shop.Licence = Filled(Licence);
        shop.LicenceInShort = InShort.Tidy(LicenceInShort);
    }

    private string Filled(string text) => StartingTexts.Fill(text, Name.Trim(), Contact.Trim(), PostalAddress.Trim());

    private static void Need(List<Refusal> troubles, string field, string value, string words)
    {
        if (string.IsNullOrWhiteSpace(value))
            troubles.Add(new(field, words));
    }
}
