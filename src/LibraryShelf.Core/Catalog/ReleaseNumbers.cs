using System.Numerics;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Core.Catalog;

/// <summary>Which number a library's release may have. Numbers are SemVer 2.0.0 (https://semver.org), compared by its precedence.</summary>
public static class ReleaseNumbers
{
    public const string Field = "Number";

    /// <summary>Orders numbers by SemVer's precedence, lowest first; what is no number comes before all.</summary>
    public static IComparer<string> ByPrecedence { get; } = Comparer<string>.Create(Compare);

    /// <summary>
    /// The number the next release gets unless the maker says otherwise: 1.0.0; then the latest with its second part raised
    /// ("added"); after a 2.0.0-rc.1 its 2.0.0.
    /// </summary>
    public static string Propose(IEnumerable<string> taken)
    {
        var latest = taken.Select(ReleaseNumber.TryParse).OfType<ReleaseNumber>()
            .MaxBy(n => n, Comparer<ReleaseNumber>.Create(ReleaseNumber.Compare));
        if (latest is null)
            return "1.0.0";
        var core = latest.ToString().Split('-', '+')[0];
        if (latest.IsPrerelease)
            return core;
        var parts = core.Split('.');
        return $"{parts[0]}.{BigInteger.Parse(parts[1]) + 1}.0";
    }

    /// <summary>What speaks against <paramref name="number"/> beside the numbers already taken; null when nothing does.</summary>
    internal static Refusal? Refuse(string number, IReadOnlyCollection<string> taken)
    {
        if (ReleaseNumber.TryParse(number) is not { } parsed)
            return new(Field, T($"“{Shown(number)}” is not a version number. Nothing was altered. Write three whole numbers with dots, such as {Propose(taken)}."));
        var same = taken.FirstOrDefault(t => ReleaseNumber.TryParse(t) is { } other && ReleaseNumber.Compare(other, parsed) == 0);
        return same is null ? null
            : new(Field, T($"Version {same} is already there, and a number is never used twice. The next free one is {Propose(taken)}."));
    }

    /// <summary>A number fit for a message: shortened, without what can't be seen.</summary>
    private static string Shown(string number) =>
        string.Concat(number.Take(40).Where(c => !char.IsControl(c) && !char.IsSurrogate(c))) + (number.Length > 40 ? "…" : "");

    private static int Compare(string left, string right) => (ReleaseNumber.TryParse(left), ReleaseNumber.TryParse(right)) switch
    {
        (null, null) => string.CompareOrdinal(left, right),
        (null, _) => -1,
        (_, null) => 1,
        var (l, r) => ReleaseNumber.Compare(l, r),
    };
}
