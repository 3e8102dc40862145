using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Accounts;

/// <summary>The words of the mails about another address.</summary>
internal static class AddressMail
{
    /// <summary>What the causes of these mails begin with; the change's number and a colon follow.</summary>
    public const string Cause = "address:";

    /// <param name="page">Where to say yes or no.</param>
    /// <param name="mine">Where to sign out elsewhere.</param>
    public static (string Subject, string Text) AskOld(Shop? shop, string page, string newEmail, string mine) => Mail(shop, T($"Another address at {Name(shop)}?"), T($"""
        Somebody, most likely you, wants to sign in to {Name(shop)} with another address from now on:
        {newEmail}

        This address would then open nothing of yours any more; all that is yours would go along. Is that right? Say yes or no here:
        {page}

        It changes only when both addresses have said yes, within 24 hours. Opening the page says nothing yet.

        If it wasn’t you, say no. Then look who else is signed in as you, and sign them out:
        {mine}
        """));

    public static (string Subject, string Text) AskNew(Shop? shop, string page) => Mail(shop, T($"Your address at {Name(shop)}?"), T($"""
        Somebody, most likely you, wants to sign in to {Name(shop)} with this address from now on. Is that right? Say yes or no here:
        {page}

        It changes only when both the earlier address and this one have said yes, within 24 hours. Opening the page says nothing yet.

        If it wasn’t you, say no, or do nothing.
        """));

    public static (string Subject, string Text) IsAnothers(Shop? shop) => Mail(shop, T($"Your address at {Name(shop)}"), T($"""
        Somebody, most likely you, wants to sign in to {Name(shop)} with this address from now on, and to bring along what is theirs.

        This address has a place of its own there already, so nothing is moved: what is here stays here, and what is there stays there. If both are yours, write to the maker. She can join the two.

        If it wasn’t you, do nothing.
        """));

    public static (string Subject, string Text) IsYoursAlready(Shop? shop) => Mail(shop, T($"Your address at {Name(shop)}"), T($"""
        Somebody, most likely you, wants to sign in to {Name(shop)} with this address from now on.

        It does so already: the maker has joined this address with another of yours, and either of them opens the same page. Nothing was changed.

        If it wasn’t you, do nothing.
        """));

    public static (string Subject, string Text) Changed(Shop? shop, string oldEmail, string newEmail) => Mail(shop, T($"Your address at {Name(shop)} has changed"), T($"""
        Both addresses said yes. From now on you sign in to {Name(shop)} with {newEmail}, and no more with {oldEmail}.

        All that is yours went along. On other devices you are signed out within a minute; sign in there again.

        If this was not your wish, write to the maker at once.
        """));

    private static string Name(Shop? shop) => MailWords.ShopName(shop);

    private static (string Subject, string Text) Mail(Shop? shop, string subject, string text) => (subject, text + MailWords.Foot(shop));
}
