using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Letters;

/// <summary>The words of the letter that a month's drop slips.</summary>
internal static class SlipLetter
{
    /// <param name="drop">Which month's, with the reason; when it comes is said as it stands now.</param>
    /// <param name="now">The instant it is written.</param>
    /// <param name="desk">Who writes.</param>
    public static (string Subject, string Text) Write(Drop drop, DateTimeOffset now, LetterDesk desk)
    {
        var month = DropWhen.Name(drop.Month);
        var when = drop.State == DropState.Planned && drop.DueAt > now
            ? T($"It is planned for {DayWords.Weekday(drop.DueAt.ToInstant().InZone(ReadShop.ZoneOf(drop.Zone)).Date)} now.")
            : T("When it comes, you are told.");
        return (T($"{month} slips"), T($"""
            The drop of {month} does not come when it should: it slips.

            {drop.SlippedBecause}

            {when} You have nothing to do. If you paid for {month}, it stays yours: when its drop comes, it is open to you.

            You get this mail because you are a member of {desk.ShopName}, or have {month} from before.
            """).ReplaceLineEndings("\n") + MailWords.Foot(desk.Shop));
    }
}
