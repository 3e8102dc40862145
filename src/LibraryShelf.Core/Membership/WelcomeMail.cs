using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>The words of the mail that tells someone they were made a member by hand.</summary>
internal static class WelcomeMail
{
    public static (string Subject, string Text) Write(Shop? shop, DateOnly? lastDay, string? shelfAddress)
    {
        var name = MailWords.ShopName(shop);
        var made = lastDay is { } day
            ? T($"The maker of {name} has made you a member, until the end of {DayWords.Day(LocalDate.FromDateOnly(day))}. Nothing is to be paid for it.")
            : T($"The maker of {name} has made you a member. Nothing is to be paid for it.");
        var text = T($"""
            {made}

            All tied boxes open for you while you are a member, and what you download stays with you.

            {MailPlaces.SignIn(shelfAddress)}

            You get this mail once, because your address was entered. If you did not expect it, answer the address below.
            """);
        return (T($"You are a member of {name}"), text + MailWords.Foot(shop));
    }
}
