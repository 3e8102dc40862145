using LibraryShelf.Core.Letters;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Why somebody may be left behind, in sentences. Only what the shelf knows: which player a version needs, who may have it, who wants mails.</summary>
internal static class BehindWords
{
    public static string Why(BehindVersion version, LeftBehind behind) => version.NeedsMore
        ? T($"{behind.Latest} opens in {behind.Needs}; {version.Number} opened in {version.OpenedIn}.")
        : version.OpenedIn.Length > 0 && behind.Needs.Length > 0 ? T("Nothing the shelf knows of: it opens in the same player.") : T("Nothing the shelf knows of.");

    public static string Right(BehindPerson person, LeftBehind behind) => person.MayHave switch
    {
        null => T($"Not {behind.Latest}: it is for members, and they are none now."),
        var number when number == behind.Latest => number,
        var number => T($"{number}, not {behind.Latest}"),
    };

    public static string Mails(BehindPerson person, LeftBehind behind, DateTimeZone zone) =>
        person.Email.Length == 0 ? T("No address.")
        : person.ToldAt is { } told ? T($"Told of {behind.Latest} on {Dates.ShortDay(told, zone)}.")
        : person.WantsNone ? T("Not told: wants no mails about new versions.")
        : person.IsClosed ? T("Not told: the mailbox refused for good.")
        : person.MayHave is null ? T("Not told: it is not theirs to fetch.") : T("Not told yet.");

    public static string Written(BehindLetter letter, string latest, DateTimeZone zone) => letter.DoneAt is null
        ? T($"Your letter about {latest} of {Dates.Day(letter.AskedAt, zone)} is being written; {Plural.Of(letter.Written, "mail")} so far. You may close this page.")
        : T($"You wrote to {Plural.InWords(letter.Written, "person")} about {latest} on {Dates.Day(letter.AskedAt, zone)}. Nobody is written to about one version twice. The mails stand in the outbox.");
}
