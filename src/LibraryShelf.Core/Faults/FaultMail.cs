using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Core.Faults;

/// <summary>The words of the mails to someone who told of a fault.</summary>
internal static class FaultMail
{
    /// <param name="fault">What they told.</param>
    /// <param name="heardIn">The number of the version they heard it in.</param>
    /// <param name="mendedIn">With its library and players.</param>
    /// <param name="shop">Who writes.</param>
    /// <param name="shelfAddress">Without a slash at its end; null: the mail names no address.</param>
    public static (string Subject, string Text) Mended(FaultReport fault, string heardIn, Release mendedIn, Shop? shop, string? shelfAddress)
    {
        var library = mendedIn.Library;
        var text = T($"""
            {Told(fault, shop, $"{library.Title} {heardIn}")}

            {Quoted(fault.Words)}

            Version {mendedIn.Number} mends it, and is on the shelf:

            {MailPlaces.Box(shelfAddress, library)}{MailPlaces.OpensIn(mendedIn)}

            Turn the volume low when you listen again. Thank you for telling.

            You get this mail once, because you were signed in with this address when you told of it.
            """);
        return (T($"{library.Title} {mendedIn.Number} mends what you heard"), text + MailWords.Foot(shop));
    }

    /// <param name="fault">With the answer.</param>
    /// <param name="heardIn">With its library.</param>
    /// <param name="shop">Who writes.</param>
    public static (string Subject, string Text) Answered(FaultReport fault, Release heardIn, Shop? shop)
    {
        var title = $"{heardIn.Library.Title} {heardIn.Number}";
        var text = T($"""
            {Told(fault, shop, title)}

            {Quoted(fault.Words)}

            The maker answers:

            {Quoted(fault.Answer)}

            You get this mail because you were signed in with this address when you told of it.
            """);
        return (T($"About what you heard in {title}"), text + MailWords.Foot(shop));
    }

    private static string Told(FaultReport fault, Shop? shop, string title) => fault.Key is { } key
        ? T($"You told the maker of {MailWords.ShopName(shop)} that something sounds wrong in {title}, on the key {NoteNames.Name(key)}:")
        : T($"You told the maker of {MailWords.ShopName(shop)} that something sounds wrong in {title}:");

    private static string Quoted(string words) => "> " + words.ReplaceLineEndings("\n> ");
}
