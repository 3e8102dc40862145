using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Accounts;

/// <summary>The words of the sign-in mail.</summary>
internal static class SignInMail
{
    public static (string Subject, string Text) Write(Shop? shop, string link, string code, int minutes)
    {
        var name = MailWords.ShopName(shop);
        var text = $"""
            Someone, most likely you, asked to sign in to {name} with this address.

            On this device, open this page and press its button:
            {link}

            On another device, choose "I have a code" under Sign in, and type this address and the code:
            {Secrets.Show(code)}

            Either works once, for {minutes} minutes from when it was asked for.

            If it wasn't you, do nothing: without this mail nobody can sign in with your address.
            """;
        return ($"Sign in to {name}", text + MailWords.Foot(shop));
    }
}
