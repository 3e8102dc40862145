namespace LibraryShelf.Packaging.Archives;

/// <summary>Holds what is there against a checksum list.</summary>
public static class ChecksumComparison
{
    /// <summary>
    /// Everything that differs, in ordinal order of paths. A listed file that is gone while an unlisted one has its very bytes is
    /// reported once, as renamed.
    /// </summary>
    /// <param name="listed">The list; the list file itself is in neither argument.</param>
    /// <param name="found">The SHA-256 (64 lower-case hex digits) of every file that is there; null for one that could not be read whole.</param>
    public static IReadOnlyList<Discrepancy> Compare(IEnumerable<ListedChecksum> listed, IReadOnlyDictionary<string, string?> found)
    {
        ArgumentNullException.ThrowIfNull(listed);
        ArgumentNullException.ThrowIfNull(found);
        var listedPaths = new HashSet<string>(StringComparer.Ordinal);
        var missing = new List<ListedChecksum>();
        var discrepancies = new List<Discrepancy>();
        foreach (var file in listed)
        {
            listedPaths.Add(file.Path);
            if (!found.TryGetValue(file.Path, out var sha256))
                missing.Add(file);
            else if (sha256 is not null && sha256 != file.Sha256)
                discrepancies.Add(new(DiscrepancyKind.Altered, file.Path, T("Its bytes are not those that were packed.")));
        }
        var extra = found.Where(f => !listedPaths.Contains(f.Key)).ToDictionary(StringComparer.Ordinal);
        discrepancies.AddRange(missing.Select(file => Explain(file, extra)));
        discrepancies.AddRange(extra.Keys.Select(path => new Discrepancy(DiscrepancyKind.Extra, path, T("It is not in the checksum list."))));
        return [.. discrepancies.OrderBy(d => d.Path, StringComparer.Ordinal)];
    }

    private static Discrepancy Explain(ListedChecksum missing, Dictionary<string, string?> extra)
    {
        var newName = extra.Where(e => e.Value == missing.Sha256).Select(e => e.Key).Min(StringComparer.Ordinal);
        if (newName is null)
            return new(DiscrepancyKind.Missing, missing.Path, T("It is in the checksum list and not there."));
        extra.Remove(newName);
        return new(DiscrepancyKind.Renamed, missing.Path, T($"It is there under another name: {newName}"));
    }
}
