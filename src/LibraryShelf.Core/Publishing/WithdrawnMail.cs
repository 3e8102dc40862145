using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Publishing;

/// <summary>The two mails about a version taken back, and their causes: that it was, and that there is a mended one now.</summary>
internal static class WithdrawnMail
{
    public static string ToldOf(long releaseId) => $"withdrawn:{releaseId}:";

    public static string OfferedLaterFor(long releaseId) => $"mended-after:{releaseId}:";

    public static string Told(long releaseId, long personId) => ToldOf(releaseId) + personId;

    public static string OfferedLater(long releaseId, long personId) => OfferedLaterFor(releaseId) + personId;

    /// <param name="withdrawn">With its library and its reason.</param>
    /// <param name="offered">With its players; null: there is none yet that this person may have.</param>
    /// <param name="shop">Who writes.</param>
    /// <param name="shelfAddress">Without a slash at its end; null: the mail names no address.</param>
    public static (string Subject, string Text) Withdrawn(Release withdrawn, Release? offered, Shop? shop, string? shelfAddress)
    {
        var library = withdrawn.Library;
        var instead = offered is null
            ? $"There is no mended version for you yet. When there is, you are told once more. What stands in the box now:\n\n{Place(withdrawn, shelfAddress)}"
            : $"Version {offered.Number} is there in its place, and it is yours to fetch. Take it from the box, and put its folder over the old one:\n\n{Place(withdrawn, shelfAddress)}{MailPlaces.OpensIn(offered)}";
        var text = $"""
            The maker of {MailWords.ShopName(shop)} has taken version {withdrawn.Number} of {library.Title} off the shelf, and says why:

            {Quoted(withdrawn.WithdrawnBecause)}

            You fetched this version. What you have stays with you; links to it open no more.

            {instead}

            You get this mail once, because you fetched {library.Title} {withdrawn.Number} while you were signed in with this address.
            """;
        return ($"{library.Title} {withdrawn.Number} was withdrawn", text + MailWords.Foot(shop));
    }

    public static (string Subject, string Text) Mended(Release withdrawn, Release offered, Library library, Shop? shop, string? shelfAddress)
    {
        var text = $"""
            Version {offered.Number} of {library.Title} is on the shelf. It comes in place of {withdrawn.Number}, which the maker took back:

            {Quoted(withdrawn.WithdrawnBecause)}

            Take it from the box, and put its folder over the old one:

            {MailPlaces.Box(shelfAddress, library)}{MailPlaces.OpensIn(offered)}

            You get this mail once, because you fetched {library.Title} {withdrawn.Number} while you were signed in with this address, and there was no mended version when it was withdrawn.
            """;
        return ($"{library.Title} {offered.Number} is there in place of {withdrawn.Number}", text + MailWords.Foot(shop));
    }

    /// <summary>The page of a box that was never on the shelf opens only for those who were chosen, once they are signed in.</summary>
    private static string Place(Release withdrawn, string? shelfAddress) =>
        withdrawn.PublishedAt is null ? MailPlaces.Mine(shelfAddress) : MailPlaces.Box(shelfAddress, withdrawn.Library);

    private static string Quoted(string words) => "> " + words.ReplaceLineEndings("\n> ");
}
