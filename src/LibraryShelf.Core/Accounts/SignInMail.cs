using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Accounts;

/// <summary>The words of the sign-in mail.</summary>
internal static class SignInMail
{
    /// <param name="link">Null: the code alone.</param>
    /// <param name="minutes">How long both work.</param>
    public static (string Subject, string Text) Write(Shop? shop, string? link, string code, int minutes)
    {
        var name = MailWords.ShopName(shop);
        var works = link is null
            ? T($"It works once, for {minutes} minutes from when the mail was asked for.")
            : T($"Link and code work once, for {minutes} minutes from when the mail was asked for.");
        var text = T($"""
            Someone, most likely you, asked to sign in to {name} with this address.

            {(link is null ? ByCode : ByLink(link))}
            {Secrets.Show(code)}

            {works}

            If it wasn’t you, do nothing: without this mail nobody can sign in with your address.
            """);
        return (T($"Sign in to {name}"), text + MailWords.Foot(shop));
    }

    private static string ByCode => T("""On the shelf, choose “I have a code” under Sign in, and type this address and the code:""");

    private static string ByLink(string link) => T($"""
        On this device, open this page and press its button:
        {link}

        On another device, choose “I have a code” under Sign in, and type this address and the code:
        """);
}
