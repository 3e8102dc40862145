namespace LibraryShelf.Packaging.Mappings;

/// <summary>
/// What may be read of all mappings of one folder together. Each has bounds of its own too, but all stay in memory while the folder is
/// judged, and fifty that each keep to theirs must not fill it.
/// </summary>
public sealed class MappingBudget
{
    /// <summary>Letters of all mappings, with all they include: several times what the largest library's come to.</summary>
    public const long MostLetters = 64L << 20;

    public const int MostRegions = 200_000;

    private long letters, kept, searched, inherited;
    private int regions;

    /// <summary>False: with these letters it would be more than <see cref="MostLetters"/>.</summary>
    internal bool TakeLetters(long count) => (letters += count) <= MostLetters;

    /// <summary>Nothing more is kept of any mapping: the rest need not be read.</summary>
    internal bool IsSpent => kept > MostLetters;

    /// <summary>The same of letters once #define is replaced, which are what stays in memory.</summary>
    internal bool TakeKept(long count) => (kept += count) <= MostLetters;

    internal bool TakeSearched(long count) => (searched += count) <= SfzLines.MaxSearched;

    /// <summary>A region with so many opcodes, inherited ones counted.</summary>
    internal string? TakeRegion(long opcodes)
    {
        inherited += opcodes;
        if (inherited > SfzParser.MaxInherited)
            return T($"with the folder’s other mappings more than {SfzParser.MaxInherited} opcodes in its regions");
        return ++regions > MostRegions ? T($"with the folder’s other mappings more than {MostRegions} regions") : null;
    }
}
