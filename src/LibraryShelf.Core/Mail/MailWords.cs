using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Mail;

/// <summary>What every mail of the shop says in the same words.</summary>
internal static class MailWords
{
    public static string ShopName(Shop? shop) => string.IsNullOrWhiteSpace(shop?.Name) ? T("this shelf") : shop.Name;

    private const string Mark = "\n\n-- \n";

    /// <summary>Why somebody gets it and who writes, where whoever wrote the mail has not said it: no mail goes without.</summary>
    /// <param name="cause">Of the mail: tells its kind.</param>
    public static string Whole(string text, string cause, Shop? shop)
    {
        var foot = text.LastIndexOf(Mark, StringComparison.Ordinal);
        var (said, signature) = foot < 0 ? (text, Foot(shop)) : (text[..foot], text[foot..]);
        return SaysWhy(said, cause) ? said + signature : $"{said.TrimEnd()}\n\n{Why(MailKinds.Of(cause), ShopName(shop))}{signature}";
    }

    /// <summary>In English the words tell; in another language, where they may be any, the cause does.</summary>
    private static bool SaysWhy(string said, string cause) =>
        said.Contains("You get this mail", StringComparison.Ordinal) || (Say.Tag != "en" && MailKinds.SaysWhy(cause));

    private static string Why(MailKind kind, string shop) => kind switch
    {
        MailKind.SignIn => T("You get this mail because somebody, most likely you, asked for it with this address."),
        MailKind.RenewalFailed => T($"You get this mail because you are a member of {shop} and a payment did not go through."),
        MailKind.Goodbye => T($"You get this mail because you were a member of {shop}."),
        MailKind.Alert or MailKind.Weekly => T($"You get this mail because you are the maker of {shop}."),
        MailKind.Notice => T($"You get this mail because it is about what is yours at {shop}, and you have to hear of it."),
        _ => T($"You get this mail because {shop} knows this address."),
    };

    /// <summary>Who writes, and where they live: the mark "-- " begins a signature (RFC 3676 §4.3).</summary>
    public static string Foot(Shop? shop)
    {
        string?[] lines = [shop?.Name, shop?.MakerLine, shop?.PostalAddress, shop?.Contact];
        // A postal address often begins with the name that stands above it.
        var said = lines.Where(line => !string.IsNullOrWhiteSpace(line)).SelectMany(line => line!.Split('\n', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries)).Distinct(StringComparer.Ordinal);
        return Mark + string.Join('\n', said) + "\n";
    }
}
