namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Gathers findings, keeps any one code from drowning the sheet, and sorts worst first.</summary>
internal sealed class Findings
{
    /// <summary>Of one code at most this many are listed one by one; the rest is one line.</summary>
    public const int MostPerCode = 100;

    private readonly List<Finding> all = [];

    public void Add(string code, string? path, string message) => all.Add(new Finding(code, FindingCodes.SeverityOf(code), path, message));

    public IReadOnlyList<Finding> WorstFirst() =>
        [.. all.GroupBy(f => f.Code, StringComparer.Ordinal).OrderBy(g => FindingCodes.RankOf(g.Key)).SelectMany(Capped)];

    private static IEnumerable<Finding> Capped(IGrouping<string, Finding> group)
    {
        var sorted = group.OrderBy(f => f.Path, StringComparer.Ordinal).ThenBy(f => f.Message, StringComparer.Ordinal).ToList();
        if (sorted.Count <= MostPerCode)
            return sorted;
        var more = sorted.Count - MostPerCode;
        var rest = new Finding(group.Key, sorted[0].Severity, null, T($"And {more} more like this. Mend the ones listed and check again."));
        return [.. sorted.Take(MostPerCode), rest];
    }
}
