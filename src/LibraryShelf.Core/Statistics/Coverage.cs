using System.Globalization;

namespace LibraryShelf.Core.Statistics;

/// <summary>Which bytes of [0, length) have been handed over so far: half-open intervals, disjoint, in order.</summary>
internal sealed class Coverage(long length)
{
    private readonly List<(long From, long To)> _parts = [];

    public long Bytes { get; private set; }

    public bool IsWhole => Bytes == length;

    /// <summary>"0-100 200-300", to go on from later; reads back by <see cref="Read"/>.</summary>
    public string Text => string.Join(' ', _parts.Select(p => string.Create(CultureInfo.InvariantCulture, $"{p.From}-{p.To}")));

    /// <exception cref="FormatException">The text was not written by <see cref="Text"/>.</exception>
    public static Coverage Read(long length, string text)
    {
        var coverage = new Coverage(length);
        foreach (var part in text.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            var dash = part.IndexOf('-', StringComparison.Ordinal);
            coverage.Add(long.Parse(part.AsSpan(0, Math.Max(0, dash)), CultureInfo.InvariantCulture), long.Parse(part.AsSpan(dash + 1), CultureInfo.InvariantCulture));
        }
        return coverage;
    }

    /// <summary>Adds [<paramref name="from"/>, <paramref name="to"/>); what lies outside the archive is cut off.</summary>
    public void Add(long from, long to)
    {
        from = Math.Max(0, from);
        to = Math.Min(length, to);
        if (from >= to) return;
        // The parts that touch or overlap the new one stand side by side; they and it become one.
        var first = FirstEndingAtOrAfter(from);
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

    /// <summary>Halves the search: somebody may fetch an archive in a hundred thousand pieces.</summary>
    private int FirstEndingAtOrAfter(long at)
    {
        var (low, high) = (0, _parts.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (_parts[middle].To < at) low = middle + 1;
            else high = middle;
        }
        return low;
    }
}
