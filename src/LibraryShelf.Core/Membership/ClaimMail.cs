using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
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
        var zone = ReadShop.ZoneOf(desk.Shop?.TimeZone ?? "");
        var text = T($"""
            The maker of {name} has moved a list of people to this shelf, and you are on it.

            Where your address comes from: {import.Source}
            What you agreed to there: {(consent.Length > 0 ? consent : import.Consent)}

            {HasWords(gets, desk.Now, zone)}

            {MailPlaces.SignIn(desk.Address)} What is yours is on your page.

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
        return (gets.From > now, last is not null) switch
        {
            (true, true) => T($"What you have here: a membership from {from} until the end of {last}. Nothing is to be paid for it. All tied boxes are open for you while it lasts."),
            (true, false) => T($"What you have here: a membership from {from}. Nothing is to be paid for it. All tied boxes are open for you while it lasts."),
            (false, true) => T($"What you have here: a membership since {from} until the end of {last}. Nothing is to be paid for it. All tied boxes are open for you while it lasts."),
            (false, false) => T($"What you have here: a membership since {from}. Nothing is to be paid for it. All tied boxes are open for you while it lasts."),
        };
    }

    private static string Day(DateTimeOffset instant, DateTimeZone zone) => DayWords.Day(instant, zone);
}
