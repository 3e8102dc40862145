using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Membership;

/// <summary>The words of the mail that tells someone they were made a member by hand.</summary>
internal static class WelcomeMail
{
    public static (string Subject, string Text) Write(Shop? shop, DateOnly? lastDay, string? shelfAddress)
    {
        var name = MailWords.ShopName(shop);
        var until = lastDay is { } day ? T($", until the end of {day.ToString("d MMMM yyyy", CultureInfo.InvariantCulture)}") : "";
        var where = shelfAddress is null ? T("Sign in on the shelf") : T($"Sign in at {shelfAddress}/sign-in");
        var text = T($"""
            The maker of {name} has made you a member{until}. Nothing is to be paid for it.

            All tied boxes open for you while you are a member, and what you download stays with you.

            {where} with this address: you are sent a link and a code, there is no password.

            You get this mail once, because your address was entered. If you did not expect it, answer the address below.
            """);
        return (T($"You are a member of {name}"), text + MailWords.Foot(shop));
    }
}
