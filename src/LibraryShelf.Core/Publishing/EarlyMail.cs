using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Publishing;

/// <summary>The words of the mail to someone who is given a version before the others.</summary>
internal static class EarlyMail
{
    /// <param name="release">With its library and players.</param>
    /// <param name="shop">Who writes.</param>
    /// <param name="shelfAddress">Without a slash at its end; null: the mail names no address.</param>
    public static (string Subject, string Text) Write(Release release, Shop? shop, string? shelfAddress)
    {
        var title = $"{release.Library.Title} {release.Number}";
        var text = T($"""
            The maker of {MailWords.ShopName(shop)} gives you {title} early, before it is on the shelf for others.

            Sign in with this address, and it stands under Mine, marked “Early, for you”:

            {MailPlaces.Mine(shelfAddress)}{MailPlaces.OpensIn(release)}

            Others see nothing of it yet. If something sounds wrong, the page of its box has a way to tell the maker.

            You get this mail once, because the maker chose your address for this version. If you did not expect it, answer the address below.
            """);
        return (T($"Early, for you: {title}"), text + MailWords.Foot(shop));
    }
}
