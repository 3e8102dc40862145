using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>What docs/counting.md offers to those who count by hand.</summary>
public static class CountingDocument
{
    /// <summary>The midnights in <see cref="OfADay"/>, to be replaced by those of another day.</summary>
    public const string Midnights = "SELECT 1795564800000, 1795651200000";

    /// <returns>Its SQL as it stands there, in order.</returns>
    public static string[] Sql()
    {
        var root = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(root.FullName, "LibraryShelf.sln"))) root = root.Parent!;
        var text = File.ReadAllText(Path.Combine(root.FullName, "docs", "counting.md"));
        return [.. Regex.Matches(text, "```sql\n(.*?)```", RegexOptions.Singleline).Select(m => m.Groups[1].Value)];
    }

    /// <summary>What was started and finished of each box and version in one day.</summary>
    public static string OfADay => Sql()[3];

    /// <summary>Of boxes: what was finished, begun and not finished in the days between <see cref="Midnights"/>.</summary>
    public static string OfBoxes => Sql()[6];

    /// <summary>How many had <see cref="Latest"/>.</summary>
    public static string OfVersions => Sql()[7];

    /// <summary>A box, its latest version and the end of a day, in <see cref="OfVersions"/>.</summary>
    public const string Latest = "SELECT 'jam-jar-marimba', '2.1.0', 1795651200000";

    /// <summary>Who was a member, came and left in the month between <see cref="Midnights"/>.</summary>
    public static string OfMembers => Sql()[8];

    /// <summary>How the drop of <see cref="Month"/> was taken.</summary>
    public static string OfADrop => Sql()[9];

    public const string Month = "'2026-11'";

    /// <summary>How often each word of <see cref="Kind"/> came up in <see cref="SomeDays"/>.</summary>
    public static string OfWords => Sql()[10];

    public const string Kind = "'Referrer'", SomeDays = "s.\"Day\" >= '2026-11-01' AND s.\"Day\" <= '2026-11-30'";

    /// <summary>Of the day between <see cref="Midnights"/>.</summary>
    public static string OfPeople => Sql()[11];

    /// <summary>Of <see cref="Now"/>.</summary>
    public static string OfIncome => Sql()[12];

    public const string Now = "SELECT 1795651200000)";

    /// <summary>Of the month between <see cref="Midnights"/>.</summary>
    public static string OfRenewals => Sql()[13];

    /// <summary>Of who joined in the first two of <see cref="Stay"/>.</summary>
    public static string OfStays => Sql()[14];

    /// <summary>Two midnights of a day, and one that ends another.</summary>
    public const string Stay = "SELECT 1795564800000, 1795651200000, 1798243200000";
}
