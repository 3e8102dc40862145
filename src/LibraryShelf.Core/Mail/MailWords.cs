using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Mail;

/// <summary>What every mail of the shop says in the same words.</summary>
internal static class MailWords
{
    public static string ShopName(Shop? shop) => string.IsNullOrWhiteSpace(shop?.Name) ? "this shelf" : shop.Name;

    /// <summary>Who writes, and where they live: the mark "-- " begins a signature (RFC 3676 §4.3).</summary>
    public static string Foot(Shop? shop)
    {
        string?[] lines = [shop?.Name, shop?.MakerLine, shop?.PostalAddress, shop?.Contact];
        // A postal address often begins with the name that stands above it.
        var said = lines.Where(line => !string.IsNullOrWhiteSpace(line)).SelectMany(line => line!.Split('\n', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries)).Distinct(StringComparer.Ordinal);
        return "\n\n-- \n" + string.Join('\n', said) + "\n";
    }
}
