using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using NodaTime;

namespace LibraryShelf.Core.Persons;

/// <summary>The words of the mails about an account as a whole.</summary>
internal static class PersonMails
{
    /// <param name="address">Of the shelf, without a slash at its end; null: not sure, so the mail names the path alone.</param>
    public static (string Subject, string Text) AreYouSure(Shop? shop, string? address, string token) => (T($"Delete you at {MailWords.ShopName(shop)}?"), T($"""
        Someone signed in with this address asked to be deleted from {MailWords.ShopName(shop)}.

        {(address is null ? T("If that was you, open this page of the shelf (put it behind the shelf’s address) and press its button:") : T("If that was you, open this page and press its button:"))}
        {address}/delete/{token}

        The page says what goes and what has to stay. Nothing happens before you press, and the link works once, for {AskToDelete.Works.TotalHours:0} hours from when it was asked for.

        If it wasn’t you, do nothing. Then look under Mine where you are signed in, and sign out what is not yours.
        """) + MailWords.Foot(shop));

    /// <param name="keptUntil">When the payments that have to stay will go; null: nothing was paid.</param>
    public static (string Subject, string Text) Deleted(Shop? shop, DateTimeOffset? keptUntil) => (T("You have been deleted"), T($"""
        You asked for it, and it is done: {MailWords.ShopName(shop)} does not know you any more. This is the last mail.

        {(keptUntil is { } until
            ? T($"Your payments, and what you agreed to when you joined, are kept without your address because tax and contract law ask for it, until {Day(until)} at the longest. The payment provider keeps its own record of them.")
            : T("Nothing about you is kept. Backups of the shelf may hold it a while longer, until they are replaced."))}

        What you have downloaded is yours to use under its licence. If you come back one day, you start anew.
        """) + MailWords.Foot(shop));

    /// <param name="stays">The address of the account that goes on.</param>
    /// <param name="joins">The other one, which signs in there from now on.</param>
    public static (string Subject, string Text) Merged(Shop? shop, string stays, string joins) => (T("Your two accounts are one now"), T($"""
        At {MailWords.ShopName(shop)} there were two accounts of yours, {stays} and {joins}. The maker has made them one.

        Sign in with either address: everything that was yours under one or the other is there. Mails go to {stays}. You have been signed out where you were signed in as {joins}; download links made there have to be made again.

        If these are not both you, answer this mail.
        """) + MailWords.Foot(shop));

    /// <summary>The last day on which they are still there.</summary>
    private static string Day(DateTimeOffset until) => DayWords.Day(until.AddMilliseconds(-1), DateTimeZone.Utc);
}
