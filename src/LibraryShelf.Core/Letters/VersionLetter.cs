using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Letters;

/// <summary>The words of the letters that a library has a new version.</summary>
internal static class VersionLetter
{
    /// <summary>What changed can be long; a mail says how it begins, the page says all. UTF-16 units.</summary>
    private const int MostNotes = 1500;

    /// <param name="one">The version.</param>
    /// <param name="has">The highest number they fetched.</param>
    /// <param name="desk">Who writes.</param>
    public static (string Subject, string Text) ToHolder(LetterRelease one, string has, LetterDesk desk)
    {
        var library = one.Release.Library;
        var place = desk.Address is null ? MailPlaces.Mine(null) : $"{desk.Address}/mine#{library.Slug}";
        return Write(one, T($"{library.Title} {one.Release.Number} is on the shelf, and it is yours to fetch. The last you fetched is {has}."),
            T($"It is on your page:\n\n{place}"),
            T($"You get this mail because you fetched {library.Title} while you were signed in with this address."), desk);
    }

    /// <param name="one">The latest.</param>
    /// <param name="has">The highest number they finished downloading.</param>
    /// <param name="words">The maker's, in Markdown, before all else; may be empty.</param>
    /// <param name="desk">Who writes.</param>
    public static (string Subject, string Text) ToBehind(LetterRelease one, string has, string words, LetterDesk desk)
    {
        var library = one.Release.Library;
        var place = desk.Address is null ? MailPlaces.Mine(null) : $"{desk.Address}/mine#{library.Slug}";
        var opening = T($"{library.Title} {one.Release.Number} is on the shelf, and it is yours to fetch. The newest you downloaded is {has}.");
        return Write(one, NoteText.Of(words) is { Length: > 0 } hers ? $"{hers}\n\n{opening}" : opening,
            T($"It is on your page:\n\n{place}"),
            T($"You get this mail because you downloaded {library.Title} while you were signed in with this address."), desk);
    }

    /// <param name="one">The version.</param>
    /// <param name="isForMembers">Who follows may be none.</param>
    /// <param name="desk">Who writes.</param>
    public static (string Subject, string Text) ToFollower(LetterRelease one, bool isForMembers, LetterDesk desk)
    {
        var library = one.Release.Library;
        return Write(one, isForMembers
                ? T($"{library.Title} {one.Release.Number} is on the shelf, for members.")
                : T($"{library.Title} {one.Release.Number} is on the shelf, free for everyone."),
            T($"Its box:\n\n{MailPlaces.Box(desk.Address, library)}"),
            T($"You get this mail because this address follows {library.Title}, and said yes to that."), desk);
    }

    private static (string Subject, string Text) Write(LetterRelease one, string opening, string where, string why, LetterDesk desk)
    {
        var library = one.Release.Library;
        string[] parts =
        [
            opening,
            $"{LetterWords.Heading(T("What it takes"))}\n{LetterWords.Facts(one)}",
            .. Changes(one.Release),
            where,
            why,
        ];
        return (T($"{LetterWords.Line(library.Title)} {one.Release.Number} is there"), string.Join("\n\n", parts) + MailWords.Foot(desk.Shop));
    }

    private static string[] Changes(Release release)
    {
        var notes = NoteText.Of(release.Notes);
        if (notes.Length == 0)
            return [];
        var shown = notes.Length <= MostNotes ? notes : T($"{ShortText.Of(notes, MostNotes)} …\n\nThe rest stands on the page of the box.");
        return [$"{LetterWords.Heading(T("What changed"))}\n{shown}"];
    }
}
