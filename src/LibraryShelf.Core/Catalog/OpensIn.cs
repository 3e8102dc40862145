using System.Numerics;

namespace LibraryShelf.Core.Catalog;

/// <summary>What a version opens in, in words, and whether it opens in a player of a given version.</summary>
public static class OpensIn
{
    private const int LongestVersion = 40; // letters; nobody numbers a player longer

    /// <summary>"Pondskater 2.3 or Rushlight 5": the lowest versions that will do. Empty when the maker named none.</summary>
    public static string Or(IEnumerable<(string Name, string LowestVersion)> players)
    {
        var names = players.Select(p => One(p.Name, p.LowestVersion)).ToArray();
        return names.Length < 2 ? string.Concat(names) : T($"{string.Join(", ", names[..^1])} or {names[^1]}");
    }

    /// <summary>"Pondskater 2.3 or Rushlight 5, or later".</summary>
    public static string Needs(IEnumerable<(string Name, string LowestVersion)> players) =>
        Or(players) is { Length: > 0 } names ? T($"{names}, or later") : "";

    /// <summary>The same of rows, in the maker's order.</summary>
    public static string Needs(IEnumerable<ReleasePlayer> players) =>
        Needs(players.OrderBy(p => p.Order).ThenBy(p => p.Id).Select(p => (p.Name, p.LowestVersion)));

    /// <summary>"Rushlight 5".</summary>
    public static string One(string name, string lowestVersion) => $"{name} {lowestVersion}".Trim();

    /// <summary>Whole numbers with dots between, such as 5 or 2.3.1.</summary>
    public static bool IsVersion(string? text) => Parts(text) is not null;

    /// <summary>
    /// Whether <paramref name="has"/> is <paramref name="lowest"/> or later, part by part, a missing part counting as 0 ("2" is "2.0", and
    /// 1.10 is later than 1.9). A lowest version that is none asks for nothing.
    /// </summary>
    /// <exception cref="ArgumentException"><paramref name="has"/> is no version (<see cref="IsVersion"/>).</exception>
    public static bool IsEnough(string has, string lowest)
    {
        var (mine, wanted) = (Parts(has) ?? throw new ArgumentException("Not a version.", nameof(has)), Parts(lowest) ?? []);
        for (var i = 0; i < Math.Max(mine.Length, wanted.Length); i++)
        {
            var order = mine.ElementAtOrDefault(i).CompareTo(wanted.ElementAtOrDefault(i));
            if (order != 0)
                return order > 0;
        }
        return true;
    }

    /// <summary>Later versions are greater, and what is no version is least.</summary>
    public static IComparer<string> ByVersion { get; } = Comparer<string>.Create((left, right) => (IsVersion(left), IsVersion(right)) switch
    {
        (true, true) => IsEnough(left, right) ? (IsEnough(right, left) ? 0 : 1) : -1,
        var (isLeft, isRight) => isLeft.CompareTo(isRight),
    });

    /// <summary>Whether what somebody <paramref name="has"/>, "Pondskater 2.3", is the player of this name in this version or a later one; without a version, whichever it is.</summary>
    public static bool IsIn(string has, string name, string lowest)
    {
        var (mine, version) = has.LastIndexOf(' ') is > 0 and var space && IsVersion(has[(space + 1)..]) ? (has[..space], has[(space + 1)..]) : (has, null);
        return mine.Equals(name, StringComparison.OrdinalIgnoreCase) && (version is null || IsEnough(version, lowest));
    }

    private static BigInteger[]? Parts(string? text)
    {
        var parts = text?.Trim().Split('.') ?? [];
        return text is { Length: <= LongestVersion } && Array.TrueForAll(parts, p => p.Length > 0 && p.All(char.IsAsciiDigit))
            ? Array.ConvertAll(parts, p => BigInteger.Parse(p, System.Globalization.CultureInfo.InvariantCulture))
            : null;
    }
}
