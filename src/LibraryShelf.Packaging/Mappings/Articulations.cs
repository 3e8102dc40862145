using System.Buffers;

namespace LibraryShelf.Packaging.Mappings;

/// <summary>
/// Ways of playing. The rule: when a library has several SFZ files that no other includes, each is a way of playing, named by its
/// file name without what all have in common at the start; a single SFZ file is the one unnamed way.
/// </summary>
public static class Articulations
{
    private static readonly char[] Separators = [' ', '-', '_', '.', '–', '/'];
    private static readonly SearchValues<char> SeparatorSet = SearchValues.Create(Separators);

    public static IReadOnlyList<string> NamesOf(IReadOnlyList<string> mappingPaths)
    {
        ArgumentNullException.ThrowIfNull(mappingPaths);
        if (mappingPaths.Count < 2)
            return [];
        var names = mappingPaths.Select(p => Path.GetFileNameWithoutExtension(p)).ToList();
        if (names.Distinct(StringComparer.OrdinalIgnoreCase).Count() < names.Count)
            names = [.. mappingPaths.Select(p => Path.ChangeExtension(p, null))];
        var common = CommonStart(names);
        // The names travel in a list separated by commas.
        return [.. names.Select(n => n[common..].Trim(Separators).Replace(',', ' '))];
    }

    /// <summary>Letters that all names share up to a separator; 0 when that would leave a name empty.</summary>
    private static int CommonStart(List<string> names)
    {
        var shared = names[0].Length;
        foreach (var name in names)
            shared = Math.Min(shared, names[0].AsSpan().CommonPrefixLength(name));
        var common = names[0].AsSpan(0, shared).LastIndexOfAny(SeparatorSet) + 1;
        return names.Exists(n => n[common..].Trim(Separators).Length == 0) ? 0 : common;
    }
}
