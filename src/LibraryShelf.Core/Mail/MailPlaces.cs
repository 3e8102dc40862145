using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Mail;

/// <summary>Where a mail about a version sends people: to a page with its button, never to a link that downloads by itself.</summary>
internal static class MailPlaces
{
    /// <param name="shelfAddress">Without a slash at its end; null: no address is sure, so the place is named in words.</param>
    /// <param name="library">The box.</param>
    public static string Box(string? shelfAddress, Library library) =>
        shelfAddress is null ? T($"The box of {library.Title} is on the shelf.") : $"{shelfAddress}/boxes/{library.Slug}";

    public static string Mine(string? shelfAddress) =>
        shelfAddress is null ? T("Sign in on the shelf and open the page Mine.") : $"{shelfAddress}/mine";

    /// <summary>How somebody signs in who has never done so: a sentence.</summary>
    public static string SignIn(string? shelfAddress) => shelfAddress is null
        ? T("Sign in on the shelf with this address: you are sent a link and a code, there is no password.")
        : T($"Sign in at {shelfAddress}/sign-in with this address: you are sent a link and a code, there is no password.");

    /// <summary>"It opens in Pondskater 2.3 or Rushlight 5, or later." on a line of its own; empty when no player is named.</summary>
    public static string OpensIn(Release release) =>
        Catalog.OpensIn.Needs(release.Players) is { Length: > 0 } needs ? "\n\n" + T($"{release.Number} opens in {needs}.") : "";
}
