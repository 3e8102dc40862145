using LibraryShelf.Core.Downloads;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>What a person reads in place of bytes: what happened, what is kept, one link onward.</summary>
internal sealed record LinkProblemWords(string Title, string Happened, string Kept, string OnwardText, string OnwardPath)
{
    private static string NothingLost => T("Nothing is lost.");
    private static string PressAgain => T("Nothing is lost: the download button of its box makes a fresh link.");
    private static string GoesOn =>
        T("Keep what you have so far: a fresh link to the same version goes on where this one stopped, with any program that can resume.");

    public static LinkProblemWords For(LinkTrouble trouble, LinkAbout? about, DateTimeOffset now)
    {
        var (title, happened, kept) = Say(trouble, about, now);
        var (text, path) = Onward(trouble, about);
        return new(title, happened, kept, text, path);
    }

    private static (string Title, string Happened, string Kept) Say(LinkTrouble trouble, LinkAbout? about, DateTimeOffset now) => trouble switch
    {
        LinkTrouble.Altered => (T("Link is not whole"),
            T("This link is not as the shelf made it. A piece of it was changed or lost, perhaps when it was copied."), about is null ? PressAgain : NothingLost),
        LinkTrouble.Unknown => (T("No such link"), T("The shelf knows of no download with this link."), PressAgain),
        LinkTrouble.StartRunOut => (T("Link has run out"), StartWords(about, now), NothingLost),
        LinkTrouble.ResumeRunOut => (T("Link has run out"), about?.FinishBy is { } end ? T($"The time to go on with this download is over since {Ago(now - end)}.") : T("The time to go on with this download is over."), GoesOn),
        LinkTrouble.Revoked => (T("Link was closed"), T("The maker has closed this link."), GoesOn),
        LinkTrouble.UsedUp => (T("Link is used up"),
            T("This link has handed over its archive as many times as one link may."), GoesOn),
        LinkTrouble.TooManyAtOnce => (T("Too many at once"),
            T("So many downloads are running through this link that no further one was begun. Those that run go on."),
            T("Wait until some have ended, then try again; the link still works.")),
        LinkTrouble.Withdrawn when about?.Month is { } month => (T("A version was withdrawn"),
            T($"{OffShelf(about)} So {month} is not given out whole any more."),
            T("What you have downloaded stays yours. The other versions of the month are there one by one.")),
        LinkTrouble.Withdrawn => (T("Version was withdrawn"),
            about is null ? T("The maker has taken this version off the shelf.") : OffShelf(about),
            T("What you have downloaded stays yours.")),
        _ => (T("The shelf can’t find its files"),
            T("This link is good, but the shelf can’t find the files behind it. That is a fault of the shelf, not of yours."),
            T("Try again in a while; the link still works. If it stays like this, write to the maker.")),
    };

    private static string OffShelf(LinkAbout about) => about.WithdrawnBecause.Length == 0
        ? T($"The maker has taken {about.Title} {about.Number} off the shelf.")
        : T($"The maker has taken {about.Title} {about.Number} off the shelf, and says why: “{about.WithdrawnBecause}”");

    private static string StartWords(LinkAbout? about, DateTimeOffset now) => about is null
        ? T("The time to start this download is over.")
        : T($"This link was made {Ago(now - about.MadeAt)} ago and worked for {Plural.Of(Minutes(about.StartBy - about.MadeAt), "minute")}.");

    private static string Ago(TimeSpan time) => time switch
    {
        { TotalHours: < 2 } => Plural.Of(Math.Max(1, Minutes(time)), "minute"),
        { TotalDays: < 2 } => Plural.Of((long)time.TotalHours, "hour"),
        _ => Plural.Of((long)time.TotalDays, "day"),
    };

    /// <summary>Rounded: a link's start-by is cut to a whole second, so 30 minutes may be a little less.</summary>
    private static long Minutes(TimeSpan time) => (long)Math.Round(time.TotalMinutes);

    private static (string Text, string Path) Onward(LinkTrouble trouble, LinkAbout? about)
    {
        if (about?.Month is not null) return (T("See what is yours"), "/mine");
        if (about is not { IsOnShelf: true }) return (T("See the shelf"), "/");
        var box = "/boxes/" + about.Slug;
        return trouble switch
        {
            LinkTrouble.Withdrawn => (T($"See which versions of {about.Title} there are"), box),
            LinkTrouble.Gone or LinkTrouble.TooManyAtOnce => (T($"Back to {about.Title}"), box),
            _ => (T($"Make a fresh link for {about.Title} {about.Number}"), box),
        };
    }
}
