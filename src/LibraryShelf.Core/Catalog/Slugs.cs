using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Catalog;

/// <summary>A library's name in addresses: 1 to <see cref="MaxLength"/> of a–z, 0–9 and single hyphens between them.</summary>
public static partial class Slugs
{
    public const int MaxLength = 60;

    // Words the workbench's own addresses use in a slug's place.
    private static readonly HashSet<string> Reserved = ["new"];

    // Each plain letter followed by its accented forms in Latin-1 and Latin Extended-A (Unicode's canonical decompositions). A table,
    // because the platform decomposes nothing in the invariant culture.
    private static readonly string[] Accented =
    [
        "aàáâãäåāăą", "cçćĉċč", "dď", "eèéêëēĕėęě", "gĝğġģ", "hĥ", "iìíîïĩīĭį", "jĵ", "kķ", "lĺļľ", "nñńņň",
        "oòóôõöōŏő", "rŕŗř", "sśŝşš", "tţť", "uùúûüũūŭůűų", "wŵ", "yýÿŷ", "zźżž"
    ];

    private static readonly Dictionary<char, string> Spelled = MakeSpelled();

    [GeneratedRegex("^[a-z0-9]+(-[a-z0-9]+)*\\z", RegexOptions.ExplicitCapture | RegexOptions.NonBacktracking)]
    private static partial Regex Shape { get; }

    public static bool IsSlug(string text) => text.Length <= MaxLength && Shape.IsMatch(text) && !Reserved.Contains(text);

    /// <summary>The slug a title gives: accents off, everything else a hyphen. Empty when the title has no letter of a–z nor a digit.</summary>
    public static string FromTitle(string title)
    {
        var slug = new StringBuilder();
        foreach (var c in title.ToLowerInvariant())
            Append(slug, c);
        if (slug.Length > MaxLength)
            slug.Length = MaxLength;
        var text = slug.ToString().Trim('-');
        return Reserved.Contains(text) ? text + "-library" : text;
    }

    private static Dictionary<char, string> MakeSpelled()
    {
        var spelled = new Dictionary<char, string>
        {
            ['ß'] = "ss", ['æ'] = "ae", ['œ'] = "oe", ['ø'] = "o", ['đ'] = "d", ['ð'] = "d", ['þ'] = "th", ['ł'] = "l", ['ı'] = "i",
        };
        foreach (var letters in Accented)
            foreach (var accented in letters[1..])
                spelled[accented] = letters[..1];
        return spelled;
    }

    private static void Append(StringBuilder slug, char c)
    {
        if (char.IsAsciiLetterOrDigit(c))
            slug.Append(c);
        else if (Spelled.TryGetValue(c, out var letters))
            slug.Append(letters);
        else if (CharUnicodeInfo.GetUnicodeCategory(c) != UnicodeCategory.NonSpacingMark && c is not ('\'' or '’') && slug is [.., not '-'])
            slug.Append('-');
    }
}
