using System.Globalization;
using System.Runtime.InteropServices;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>Bytes [<paramref name="From"/>, <paramref name="To"/>) of a representation; never empty.</summary>
[StructLayout(LayoutKind.Auto)]
internal readonly record struct ByteRange(long From, long To)
{
    public long Count => To - From;
}

internal enum RangeVerdict
{
    /// <summary>No range was asked for, or not in a way this server must understand: the whole goes out.</summary>
    Whole,
    Some,
    /// <summary>None of the ranges lies in the representation, or there are too many: 416.</summary>
    Unsatisfiable,
}

/// <summary>Reads a Range field as RFC 9110 §14.1.1, §14.1.2 and §14.2 ask.</summary>
internal static class ByteRanges
{
    /// <summary>
    /// Ranges in one request. More is answered 416 (§15.5.17 names "an excessive request of small or overlapping ranges"):
    /// ignoring the field (§14.2 allows that too) would send gigabytes to one who asked for a few bytes in many places.
    /// </summary>
    public const int Most = 16;

    private const string Unit = "bytes=";

    /// <summary>
    /// What to send of <paramref name="length"/> bytes. Ranges keep their order; those that overlap or touch are made one
    /// (§15.3.7.2), so no byte goes out twice.
    /// </summary>
    public static (RangeVerdict Verdict, IReadOnlyList<ByteRange> Ranges) Read(string? field, long length)
    {
        if (field is null || !field.StartsWith(Unit, StringComparison.OrdinalIgnoreCase)) return (RangeVerdict.Whole, []);
        var specs = field[Unit.Length..].Split(',', StringSplitOptions.None).Select(s => s.Trim(' ', '\t')).Where(s => s.Length > 0).ToList();
        if (specs.Count == 0) return (RangeVerdict.Whole, []);
        var ranges = new List<ByteRange>();
        var fitsNothing = false;
        foreach (var spec in specs)
        {
            if (!TrySpec(spec, length, out var range)) return (RangeVerdict.Whole, []);
            if (range is { Count: > 0 } some) ranges.Add(some);
            // A suffix of nothing is satisfiable (§14.1.2), but no Content-Range can say so.
            else fitsNothing |= range is not null;
        }
        if (specs.Count > Most) return (RangeVerdict.Unsatisfiable, []);
        if (ranges.Count > 0) return (RangeVerdict.Some, Join(ranges));
        return (fitsNothing ? RangeVerdict.Whole : RangeVerdict.Unsatisfiable, []);
    }

    /// <summary>False: not a range-spec, so the whole field is invalid. A null range is one that lies outside.</summary>
    private static bool TrySpec(string spec, long length, out ByteRange? range)
    {
        range = null;
        var dash = spec.IndexOf('-', StringComparison.Ordinal);
        if (dash < 0) return false;
        var (left, right) = (spec[..dash], spec[(dash + 1)..]);
        if (left.Length == 0)
        {
            if (!TryPosition(right, out var suffix)) return false;
            if (suffix > 0) range = new(length - Math.Min(suffix, length), length);
            return true;
        }
        var last = long.MaxValue;
        if (!TryPosition(left, out var first) || (right.Length > 0 && !TryPosition(right, out last)) || last < first) return false;
        if (first < length) range = new(first, Math.Min(last, length - 1) + 1);
        return true;
    }

    /// <summary>1*DIGIT; a number beyond 64 bits is beyond every archive.</summary>
    private static bool TryPosition(string digits, out long position)
    {
        position = 0;
        if (digits.Length == 0 || !digits.All(char.IsAsciiDigit)) return false;
        if (!long.TryParse(digits, NumberStyles.None, CultureInfo.InvariantCulture, out position)) position = long.MaxValue;
        return true;
    }

    private static List<ByteRange> Join(List<ByteRange> ranges)
    {
        var joined = new List<ByteRange>();
        foreach (var range in ranges)
        {
            var one = range;
            var place = joined.Count;
            // Joining may make it touch a range that it did not touch before, so look again until nothing is near.
            for (int near; (near = joined.FindIndex(r => r.From <= one.To && one.From <= r.To)) >= 0;)
            {
                one = new(Math.Min(one.From, joined[near].From), Math.Max(one.To, joined[near].To));
                joined.RemoveAt(near);
                place = Math.Min(place, near);
            }
            joined.Insert(Math.Min(place, joined.Count), one);
        }
        return joined;
    }
}
