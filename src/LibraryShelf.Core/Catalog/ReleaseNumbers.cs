using LibraryShelf.Core.Shared;
using Semver;

namespace LibraryShelf.Core.Catalog;

/// <summary>Which number a library's release may have. Numbers are SemVer 2.0.0 (https://semver.org), compared by its precedence.</summary>
internal static class ReleaseNumbers
{
    public const string Field = "Number";
    public const int MaxLength = 64;

    /// <summary>The number the next release gets unless the maker says otherwise: 1.0.0, then the latest with its second part raised.</summary>
    public static string Propose(IEnumerable<string> taken)
    {
        var latest = Latest(taken);
        return latest is null ? "1.0.0" : $"{latest.Major}.{latest.Minor + 1}.0";
    }

    /// <summary>What speaks against <paramref name="number"/> beside the numbers already taken; null when nothing does.</summary>
    public static Refusal? Refuse(string number, IReadOnlyCollection<string> taken)
    {
        if (number.Length > MaxLength)
            return new(Field, $"A number has {MaxLength} characters at most.");
        if (!TryParse(number, out var parsed))
            return new(Field, $"“{number}” is not a version number. Write three whole numbers with dots, such as {Propose(taken)}.");
        var same = taken.FirstOrDefault(t => TryParse(t, out var other) && other.ComparePrecedenceTo(parsed) == 0);
        return same is null ? null
            : new(Field, $"Version {same} is already there, and a number is never used twice. The next free one is {Propose(taken)}.");
    }

    /// <summary>Orders numbers by SemVer's precedence, lowest first.</summary>
    public static int Compare(string left, string right) => SemVersion.Parse(left, SemVersionStyles.Strict)
        .ComparePrecedenceTo(SemVersion.Parse(right, SemVersionStyles.Strict));

    private static SemVersion? Latest(IEnumerable<string> numbers) => numbers
        .Select(n => TryParse(n, out var parsed) ? parsed : null).OfType<SemVersion>()
        .MaxBy(n => n, SemVersion.PrecedenceComparer);

    private static bool TryParse(string number, out SemVersion parsed)
    {
        var fine = SemVersion.TryParse(number, SemVersionStyles.Strict, out var version);
        parsed = version!;
        return fine;
    }
}
