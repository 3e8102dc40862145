using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Letters;

/// <summary>The words of the mail that asks whether an address really wants to follow a library.</summary>
internal static class FollowMail
{
    /// <param name="library">Which.</param>
    /// <param name="link">To the page with the buttons.</param>
    /// <param name="isConfirmed">They said yes before.</param>
    /// <param name="shop">Who writes.</param>
    public static (string Subject, string Text) Write(Library library, string link, bool isConfirmed, Shop? shop)
    {
        var text = isConfirmed
            ? T($"""
                Someone, most likely you, asked {MailWords.ShopName(shop)} to write here when {library.Title} has a new version. This address follows it already, so there is nothing to do.

                You want no such mails any more? This page stops them:
                {link}
                """)
            : T($"""
                Someone, most likely you, asked {MailWords.ShopName(shop)} to write here when {library.Title} has a new version.

                If that was you, open this page and say yes:
                {link}

                If it wasn’t you, do nothing: without a yes you hear nothing of it, and this address is forgotten. You are asked once a day at most, whoever types it.
                """);
        var title = LetterWords.Line(library.Title);
        return (isConfirmed ? T($"You follow {title} already") : T($"Follow {title}?"), text + MailWords.Foot(shop));
    }
}
