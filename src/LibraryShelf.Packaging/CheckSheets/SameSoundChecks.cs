namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>The same bytes under two names: members download them twice, and two takes that are one sound like a machine.</summary>
internal static class SameSoundChecks
{
    public static void Judge(IEnumerable<string> recordings, IReadOnlyDictionary<string, string> hashes, Findings findings)
    {
        foreach (var same in recordings.Where(hashes.ContainsKey).GroupBy(p => hashes[p], StringComparer.Ordinal).Where(g => g.Count() > 1))
        {
            var paths = same.Order(StringComparer.Ordinal).ToList();
            foreach (var path in paths.Skip(1))
                findings.Add(FindingCodes.SameSound, path,
                    T($"The same recording as {Words.Quote(paths[0])}, to the byte. Use one file for both, or record the other."));
        }
    }
}
