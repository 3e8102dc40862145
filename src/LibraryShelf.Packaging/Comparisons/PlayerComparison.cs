using System.Numerics;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>What the library opens in, then and now.</summary>
internal static class PlayerComparison
{
    public static void Compare(IReadOnlyList<ComparedPlayer> old, IReadOnlyList<ComparedPlayer> next, List<Change> changes, List<Reason> reasons)
    {
        // Of a folder that names no player nothing is known.
        if (old.Count == 0 || next.Count == 0)
            return;
        foreach (var player in old.Where(o => !next.Any(n => IsSame(n, o))))
            Say(Bump.Major, T($"It no longer opens in {player.Name}"));
        foreach (var player in next.Where(n => !old.Any(o => IsSame(o, n))))
            Say(Bump.Minor, T($"It opens in {Full(player)} now"));
        foreach (var (before, after) in old.SelectMany(o => next.Where(n => IsSame(n, o)).Select(n => (o, n))))
            switch (CompareVersions(before.LowestVersion, after.LowestVersion))
            {
                case < 0: Say(Bump.Major, T($"It needs {Full(after)} or later, where {Full(before)} was enough")); break;
                case > 0: Say(Bump.Minor, T($"{Full(after)} is enough, where {Full(before)} was needed")); break;
            }

        void Say(Bump bump, string words)
        {
            changes.Add(new Change(ChangeKind.Requirement, null, null, null, []) { Words = words });
            reasons.Add(new Reason(bump, words + "."));
        }
    }

    /// <summary>Dotted numbers, part by part; a missing part is 0; what is no number comes before all.</summary>
    public static int CompareVersions(string left, string right)
    {
        var (a, b) = (Parts(left), Parts(right));
        for (var i = 0; i < Math.Max(a.Length, b.Length); i++)
        {
            var order = (i < a.Length ? a[i] : BigInteger.Zero).CompareTo(i < b.Length ? b[i] : BigInteger.Zero);
            if (order != 0)
                return order;
        }
        return 0;
    }

    private static BigInteger[] Parts(string version) =>
        [.. version.Split('.').Select(part => BigInteger.TryParse(part, System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out var number) ? number : BigInteger.MinusOne)];

    private static bool IsSame(ComparedPlayer a, ComparedPlayer b) => string.Equals(a.Name.Trim(), b.Name.Trim(), StringComparison.OrdinalIgnoreCase);

    private static string Full(ComparedPlayer player) => player.LowestVersion.Length > 0 ? $"{player.Name} {player.LowestVersion}" : player.Name;
}
