namespace LibraryShelf.Core.Statistics;

/// <summary>Which bytes of [0, length) have been handed over so far: half-open intervals, disjoint, in order.</summary>
internal sealed class Coverage(long length)
{
    private readonly List<(long From, long To)> _parts = [];

    public long Bytes { get; private set; }

    public bool IsWhole => Bytes == length;

    /// <summary>Adds [<paramref name="from"/>, <paramref name="to"/>); what lies outside the archive is cut off.</summary>
    public void Add(long from, long to)
    {
        from = Math.Max(0, from);
        to = Math.Min(length, to);
        if (from >= to) return;
        // The parts that touch or overlap the new one stand side by side; they and it become one.
        var first = _parts.FindIndex(p => p.To >= from);
        if (first < 0) first = _parts.Count;
        var last = first;
        while (last < _parts.Count && _parts[last].From <= to)
        {
            from = Math.Min(from, _parts[last].From);
            to = Math.Max(to, _parts[last].To);
            Bytes -= _parts[last].To - _parts[last].From;
            last++;
        }
        _parts.RemoveRange(first, last - first);
        _parts.Insert(first, (from, to));
        Bytes += to - from;
    }
}
