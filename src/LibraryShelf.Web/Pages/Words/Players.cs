using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>What a library opens in. Always named players; which order is the maker's. Mails say the same (<see cref="OpensIn"/>).</summary>
internal static class Players
{
    /// <summary>"Pondskater 2.3 or Rushlight 5": the lowest versions that will do. Empty when the maker named none.</summary>
    public static string Or(IEnumerable<(string Name, string LowestVersion)> players) => OpensIn.Or(players);

    /// <summary>"Pondskater 2.3 or Rushlight 5, or later".</summary>
    public static string Needs(IEnumerable<(string Name, string LowestVersion)> players) => OpensIn.Needs(players);

    /// <summary>"Rushlight 5".</summary>
    public static string One(string name, string lowestVersion) => OpensIn.One(name, lowestVersion);
}
