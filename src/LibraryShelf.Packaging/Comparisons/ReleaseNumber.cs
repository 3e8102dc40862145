using Semver;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>A release's number: SemVer 2.0.0, strictly, in at most <see cref="MostCharacters"/> characters.</summary>
public sealed class ReleaseNumber
{
    /// <summary>Longer than any number a person would read out, short enough for a file name.</summary>
    public const int MostCharacters = 100;

    private readonly SemVersion version;

    private ReleaseNumber(SemVersion version) => this.version = version;

    /// <summary>True before the first stable release of that number, such as 1.0.0-rc.1.</summary>
    public bool IsPrerelease => version.IsPrerelease;

    /// <summary>The three parts without what follows them: the number that a pre-release leads to.</summary>
    public string Core => ToString().Split('-', '+')[0];

    /// <summary>Null unless <paramref name="text"/> is a valid number exactly as it stands: no "v", no spaces, three parts, no leading zeros.</summary>
    public static ReleaseNumber? TryParse(string? text) =>
        text is { Length: > 0 and <= MostCharacters }
            // The library's strict style trims nothing, but say it here: a number is ASCII without white space.
            && text.All(c => char.IsAsciiLetterOrDigit(c) || c is '.' or '-' or '+')
            && SemVersion.TryParse(text, SemVersionStyles.Strict, out var version, MostCharacters)
            ? new ReleaseNumber(version)
            : null;

    /// <summary>
    /// Precedence by SemVer 2.0.0 §11: below 0 when <paramref name="left"/> is lower, 0 when equal. What follows a "+" doesn't count (§10).
    /// </summary>
    public static int Compare(ReleaseNumber left, ReleaseNumber right)
    {
        ArgumentNullException.ThrowIfNull(left);
        ArgumentNullException.ThrowIfNull(right);
        return SemVersion.ComparePrecedence(left.version, right.version);
    }

    public override string ToString() => version.ToString();
}
