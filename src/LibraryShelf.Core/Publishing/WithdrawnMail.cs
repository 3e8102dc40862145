using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;

namespace LibraryShelf.Core.Publishing;

/// <summary>The mails about a version taken back, each with its cause: that it was, and that there is a mended one now.</summary>
internal static class WithdrawnMail
{
    /// <param name="to">Someone who fetched it.</param>
    /// <param name="withdrawn">With its library and its reason.</param>
    /// <param name="has">A newer good version that they have fetched already.</param>
    /// <param name="offered">With its players; null: there is none yet that this person may have.</param>
    /// <param name="desk">Who writes, and from where.</param>
    public static WrittenMail Withdrawn(Fetcher to, Release withdrawn, Release? has, Release? offered, MailDesk desk)
    {
        var library = withdrawn.Library;
        var instead = has is null ? Instead(withdrawn, offered, desk)
            : T($"You have fetched version {has.Number} since. That one stands, and there is nothing you need to do.");
        var text = T($"""
            The maker of {MailWords.ShopName(desk.Shop)} has taken version {withdrawn.Number} of {library.Title} off the shelf, and says why:

            {Quoted(withdrawn.WithdrawnBecause)}

            You fetched this version. What you have stays with you; links to it open no more.

            {instead}

            You get this mail once, because you fetched {library.Title} {withdrawn.Number} while you were signed in with this address.
            """);
        return Written(withdrawn, to, text, desk);
    }

    /// <param name="to">Someone who was offered it in place of <paramref name="had"/>, and did not fetch it.</param>
    /// <param name="had">What they fetched, which was withdrawn before.</param>
    /// <param name="withdrawn">With its library and its reason.</param>
    /// <param name="offered">With its players; null: there is none yet that this person may have.</param>
    /// <param name="desk">Who writes, and from where.</param>
    public static WrittenMail WithdrawnToo(Fetcher to, Release had, Release withdrawn, Release? offered, MailDesk desk)
    {
        var library = withdrawn.Library;
        var text = T($"""
            You were told of version {withdrawn.Number} of {library.Title}, in place of {had.Number}, which was withdrawn. The maker of {MailWords.ShopName(desk.Shop)} has now taken {withdrawn.Number} off the shelf too, and says why:

            {Quoted(withdrawn.WithdrawnBecause)}

            {Instead(withdrawn, offered, desk)}

            You get this mail once, because you fetched {library.Title} {had.Number} while you were signed in with this address.
            """);
        return Written(withdrawn, to, text, desk);
    }

    /// <param name="personId">Someone who has no good version.</param>
    /// <param name="email">Theirs.</param>
    /// <param name="withdrawn">The highest they fetched; with its library and its reason.</param>
    /// <param name="offered">With its players.</param>
    /// <param name="desk">Who writes, and from where.</param>
    public static WrittenMail Mended(long personId, string email, Release withdrawn, Release offered, MailDesk desk)
    {
        var library = withdrawn.Library;
        var text = T($"""
            Version {offered.Number} of {library.Title} is on the shelf. It comes in place of {withdrawn.Number}, which the maker took back:

            {Quoted(withdrawn.WithdrawnBecause)}

            Take it from the box, and put its folder over the old one:

            {MailPlaces.Box(desk.Address, library)}{MailPlaces.OpensIn(offered)}

            You get this mail once, because you fetched {library.Title} {withdrawn.Number} while you were signed in with this address, and had no mended version yet.
            """);
        return new WrittenMail($"mended-after:{offered.Id}:{personId}", email,
            T($"{library.Title} {offered.Number} is there in place of {withdrawn.Number}"), text + MailWords.Foot(desk.Shop));
    }

    private static WrittenMail Written(Release withdrawn, Fetcher to, string text, MailDesk desk) => new(
        $"withdrawn:{withdrawn.Id}:{to.PersonId}", to.Email, T($"{withdrawn.Library.Title} {withdrawn.Number} was withdrawn"), text + MailWords.Foot(desk.Shop));

    private static string Instead(Release withdrawn, Release? offered, MailDesk desk) => offered is null
        ? T($"There is no mended version for you yet. When there is, you are told once more. What stands in the box now:\n\n{Place(withdrawn, desk.Address)}")
        : T($"Version {offered.Number} is there in its place, and it is yours to fetch. Take it from the box, and put its folder over the old one:\n\n{MailPlaces.Box(desk.Address, withdrawn.Library)}{MailPlaces.OpensIn(offered)}");

    /// <summary>The page of a box that was never on the shelf opens only for those who were chosen, once they are signed in.</summary>
    private static string Place(Release withdrawn, string? shelfAddress) =>
        withdrawn.PublishedAt is null ? MailPlaces.Mine(shelfAddress) : MailPlaces.Box(shelfAddress, withdrawn.Library);

    private static string Quoted(string words) => "> " + words.ReplaceLineEndings("\n> ");
}
