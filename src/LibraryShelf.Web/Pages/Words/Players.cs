namespace LibraryShelf.Web.Pages.Words;

/// <summary>What a library opens in. Always named players; which order is the maker's.</summary>
internal static class Players
{
    /// <summary>"Pondskater 2.3 or Rushlight 5": the lowest versions that will do. Empty when the maker named none.</summary>
    public static string Or(IEnumerable<(string Name, string LowestVersion)> players)
    {
        var names = players.Select(p => One(p.Name, p.LowestVersion)).ToArray();
        return names.Length < 3 ? string.Join(" or ", names) : $"{string.Join(", ", names[..^1])} or {names[^1]}";
    }

    /// <summary>"Pondskater 2.3 or Rushlight 5, or later".</summary>
    public static string Needs(IEnumerable<(string Name, string LowestVersion)> players) =>
        Or(players) is { Length: > 0 } names ? $"{names}, or later" : "";

    /// <summary>"Rushlight 5".</summary>
    public static string One(string name, string lowestVersion) => $"{name} {lowestVersion}".Trim();
}
