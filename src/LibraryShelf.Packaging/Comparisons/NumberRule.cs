using System.Numerics;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>The rule of docs/versions.md: how far what changed moves a number by SemVer 2.0.0.</summary>
internal static class NumberRule
{
    public static ProposedNumber Propose(string oldNumber, IReadOnlyList<Reason> reasons)
    {
        var bump = reasons.Select(r => r.Bump).DefaultIfEmpty(Bump.None).Max();
        return new ProposedNumber(bump, Next(oldNumber, bump), [.. reasons.OrderByDescending(r => r.Bump).Select(r => r.Words).Distinct(StringComparer.Ordinal)]);
    }

    /// <summary>
    /// After a pre-release (2.0.0-rc.1) its own number, which it led to; below 1.0.0, where anything may change (SemVer 2.0.0 §4), a major step
    /// moves the second part.
    /// </summary>
    public static string Next(string oldNumber, Bump bump)
    {
        if (bump == Bump.None || ReleaseNumber.TryParse(oldNumber) is not { } old)
            return oldNumber;
        var core = oldNumber.Split('-', '+')[0];
        if (old.IsPrerelease)
            return core;
        var parts = core.Split('.').Select(p => BigInteger.Parse(p, System.Globalization.CultureInfo.InvariantCulture)).ToArray();
        return (bump, parts[0].IsZero) switch
        {
            (Bump.Major, false) => $"{parts[0] + 1}.0.0",
            (Bump.Major or Bump.Minor, _) => $"{parts[0]}.{parts[1] + 1}.0",
            _ => $"{parts[0]}.{parts[1]}.{parts[2] + 1}",
        };
    }
}
