using System.Collections.Frozen;
using System.Globalization;

namespace LibraryShelf.Web.Pages.Shelf.Boards;

/// <summary>How wide a name runs in the face of names, measured letter by letter from the very font that the pages load (fonts.mjs, at build time).</summary>
internal static class NameWidths
{
    /// <summary>The widths of the face's axis, per cent: the table has each tenth.</summary>
    public const int Narrowest = 50, Widest = 150;

    private const int Step = 10;

    /// <summary>Of a letter that the face lacks, thousandths of an em: about as wide as a wide letter, so that a strange name is set too small rather than cut off.</summary>
    private static readonly int[] Unknown = [.. Enumerable.Range(0, (Widest - Narrowest) / Step + 1).Select(_ => 900)];

    private static readonly FrozenDictionary<int, int[]> Table = Read();

    /// <summary>The length of a line in em at a width of <see cref="Narrowest"/> to <see cref="Widest"/> per cent. Pairs are not drawn together.</summary>
    public static double Of(string name, double width)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(width, Narrowest);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(width, Widest);
        var column = Math.Min((int)((width - Narrowest) / Step), (Widest - Narrowest) / Step - 1);
        var share = (width - Narrowest) / Step - column;
        return name.EnumerateRunes().Select(r => Table.GetValueOrDefault(r.Value, Unknown)).Sum(w => w[column] + share * (w[column + 1] - w[column])) / 1000;
    }

    private static FrozenDictionary<int, int[]> Read()
    {
        using var stream = typeof(NameWidths).Assembly.GetManifestResourceStream("name-widths.txt")
            ?? throw new InvalidOperationException("The widths of letters are not in this program: it was built in part. Build it anew.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Select(line => Array.ConvertAll(line.Split(' '), n => int.Parse(n, CultureInfo.InvariantCulture)))
            .ToFrozenDictionary(line => line[0], line => line[1..]);
    }
}
