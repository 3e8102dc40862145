using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Small turns of phrase for findings.</summary>
internal static class Words
{
    public static string Quote(string text) => $"“{text}”";

    public static Counted Count(long count, string one, string many) => Say.Count(count, one, many);

    /// <summary>A measured number with so many decimals, with a true minus sign.</summary>
    public static string Number(double value, int decimals = 1) =>
        (Math.Round(value, decimals) + 0.0).ToString($"F{decimals}", Say.Culture).Replace('-', '−');

    public static Counted Recordings(int count) => Count(count, "recording", "recordings");

    /// <summary>"a and b"; "" for none.</summary>
    public static string And(IEnumerable<string> items) => items.DefaultIfEmpty("").Aggregate((all, next) => T($"{all} and {next}"));

    /// <summary>The first few of many, such as "a, b, c and 4 more".</summary>
    public static string Some(IReadOnlyCollection<string> items, int most = 5) =>
        items.Count <= most ? string.Join(", ", items) : T($"{string.Join(", ", items.Take(most))} and {items.Count - most} more");

    /// <summary>Neighbouring keys joined: C3, E3–G3.</summary>
    public static string Keys(IReadOnlyList<int> sortedKeys, NoteNaming naming)
    {
        var ranges = new List<string>();
        for (var i = 0; i < sortedKeys.Count; i++)
        {
            var first = i;
            while (i + 1 < sortedKeys.Count && sortedKeys[i + 1] == sortedKeys[i] + 1)
                i++;
            ranges.Add(first == i
                ? naming.Name(sortedKeys[i])
                : $"{naming.Name(sortedKeys[first])}–{naming.Name(sortedKeys[i])}");
        }
        return Some(ranges, 12);
    }
}
