using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Membership;

/// <summary>The words of the one mail to somebody whom a list brought here.</summary>
internal static class ClaimMail
{
    /// <param name="desk">Who writes, and from where.</param>
    /// <param name="to">The address on the list.</param>
    /// <param name="personId">Of one person it is written once, however many lists name them.</param>
    /// <param name="import">Where the address comes from, and what its people agreed to.</param>
    /// <param name="consent">What the line says of that; may be empty.</param>
    /// <param name="gets">The membership that comes with it; null: none.</param>
    public static WrittenMail Write(MailDesk desk, string to, long personId, MemberImport import, string consent, MemberTime? gets)
    {
        var name = MailWords.ShopName(desk.Shop);
        var where = desk.Address is { } address ? T($"Sign in at {address}/sign-in") : T("Sign in on the shelf");
        var zone = ReadShop.ZoneOf(desk.Shop?.TimeZone ?? "");
        var text = T($"""
            The maker of {name} has moved a list of people to this shelf, and you are on it.

            Where your address comes from: {import.Source}
            What you agreed to there: {(consent.Length > 0 ? consent : import.Consent)}

            {HasWords(gets, desk.Now, zone)}

            {where} with this address: you are sent a link and a code, there is no password. What is yours is on your page.

            You get this mail once. If you don’t want to be known here, sign in and choose “Delete me” on your page, or write to the address below.
            """);
        return new($"claim:{personId}", to, T($"You have a place on {name}"), text + MailWords.Foot(desk.Shop));
    }

    private static string HasWords(MemberTime? gets, DateTimeOffset now, DateTimeZone zone)
    {
        if (gets is null)
            return T("Free boxes are open to everyone. Nothing is to be paid, and nothing else was set up for you.");
        // The end is the first instant after the last day.
        var (from, last) = (Day(gets.From, zone), gets.Until is { } until ? Day(until.AddMilliseconds(-1), zone) : null);
        if (gets.Until <= now)
            return T($"What you have here: you were a member from {from} to {last}, and the boxes of those months are yours, with every later version.");
        var time = (gets.From > now ? $"from {from}" : $"since {from}") + (last is null ? "" : T($" until the end of {last}"));
        return T($"What you have here: a membership {time}. Nothing is to be paid for it. All tied boxes are open for you while it lasts.");
    }

    private static string Day(DateTimeOffset instant, DateTimeZone zone) =>
        instant.ToInstant().InZone(zone).Date.ToString("d MMMM yyyy", CultureInfo.InvariantCulture);
}
