namespace LibraryShelf.Packaging.Comparisons;

/// <summary>Sets of MIDI keys or velocities, 0 to 127, as the bits of a number: programs have thousands of them.</summary>
internal static class KeySet
{
    /// <summary>Empty when <paramref name="low"/> is above <paramref name="high"/>; what is beyond 0 to 127 is left out.</summary>
    public static UInt128 Range(int low, int high)
    {
        (low, high) = (Math.Max(low, 0), Math.Min(high, 127));
        return low > high ? 0 : (UInt128.MaxValue >> (127 - high)) & (UInt128.MaxValue << low);
    }

    public static bool Has(UInt128 set, int key) => ((set >> key) & 1) != 0;

    public static UInt128 Of(IEnumerable<int> keys) => keys.Aggregate(UInt128.Zero, (set, key) => set | (UInt128.One << key));

    /// <summary>In ascending order.</summary>
    public static List<int> Keys(UInt128 set)
    {
        var keys = new List<int>();
        for (; set != 0; set &= set - 1)
            keys.Add((int)UInt128.TrailingZeroCount(set));
        return keys;
    }
}
