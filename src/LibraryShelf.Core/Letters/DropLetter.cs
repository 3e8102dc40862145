using System.Globalization;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Letters;

/// <summary>The words of the letter that a month's drop is out.</summary>
internal static class DropLetter
{
    /// <param name="drop">Which month's.</param>
    /// <param name="releases">What of it this person may have, in its order; at least one.</param>
    /// <param name="desk">Who writes.</param>
    public static (string Subject, string Text) Write(Drop drop, IReadOnlyList<LetterRelease> releases, LetterDesk desk)
    {
        var month = DayWords.Month(drop.Month);
        var title = LetterWords.Line(drop.Title);
        var opening = title.Length == 0 ? T($"The drop of {month} is out.") : T($"{title}: the drop of {month} is out.");
        var note = NoteText.Of(drop.Note);
        string[] parts =
        [
            opening,
            .. note.Length > 0 ? new[] { note } : [],
            .. releases.Select(About),
            releases.Count == 1 ? T($"It is on your page:\n\n{Place(drop, desk)}") : T($"They are on your page:\n\n{Place(drop, desk)}"),
            T($"You get this mail because you were a member of {desk.ShopName} when the drop of {month} went out, or have {month} from before."),
        ];
        return (title.Length == 0 ? T($"{month}: the drop is out") : $"{month}: {title}", string.Join("\n\n", parts) + MailWords.Foot(desk.Shop));
    }

    private static string About(LetterRelease one)
    {
        var sentence = LetterWords.Line(one.Release.Library.Sentence);
        return $"{LetterWords.Heading($"{one.Release.Library.Title} {one.Release.Number}")}\n{(sentence.Length > 0 ? sentence + "\n" : "")}{LetterWords.Facts(one)}";
    }

    private static string Place(Drop drop, LetterDesk desk) =>
        desk.Address is null ? MailPlaces.Mine(null) : string.Create(CultureInfo.InvariantCulture, $"{desk.Address}/mine#{drop.Month:uuuu-MM}");
}
