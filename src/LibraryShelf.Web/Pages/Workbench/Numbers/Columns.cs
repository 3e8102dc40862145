using System.Globalization;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>One column of a picture.</summary>
/// <param name="Label">Under it.</param>
/// <param name="Letter">The same where there is little room.</param>
/// <param name="Figure">Over it; where there is little room only over the highest and the last.</param>
internal sealed record Column(string Label, string Letter, double Value, string Figure);

/// <summary>A picture of columns side by side; places are percentages, heights pixels.</summary>
internal sealed class Columns
{
    private const int Most = 96;
    private const int Room = 24;
    /// <summary>Of a phone's picture, and of a figure's letter in it with some air, px.</summary>
    private const int PhoneWidth = 358, LetterWidth = 9;

    /// <param name="what">Before the columns, for who does not see them.</param>
    /// <param name="columns">One or more.</param>
    /// <param name="top">What the height is at least: two pictures are compared in one scale.</param>
    /// <param name="inARow">For how many there is room, where another row has more; these stand to the left.</param>
    public Columns(string what, IReadOnlyList<Column> columns, double top = 0, int inARow = 0)
    {
        var room = Math.Max(inARow, columns.Count);
        Words = $"{what}: {string.Join("; ", columns.Select(c => $"{c.Label}: {c.Figure}"))}.";
        var highest = Math.Max(Math.Max(top, columns.Max(c => c.Value)), double.Epsilon);
        var allFit = columns.Max(c => c.Figure.Length) * LetterWidth <= PhoneWidth / room;
        var best = columns.Select((c, i) => (c.Value, i)).MaxBy(c => c.Value).i;
        Places = [.. columns.Select((column, i) =>
        {
            var height = column.Value <= 0 ? 0 : Math.Max(2, (int)Math.Round(column.Value / highest * Most));
            // The last one's name wins where the highest stands right beside it.
            var isNamed = i == columns.Count - 1 || (i == best && columns.Count - 1 - best > 2);
            return new Place(Percent((i + 0.1) * 100 / room), Percent(80.0 / room), Percent((i + 0.5) * 100 / room), Room + Most - height, height, column, allFit, isNamed && !allFit ? TightOf(i, columns.Count, room) : null);
        })];
    }

    public const int Height = Room + Most + Room;

    /// <param name="HasRoom">Its figure has room on a phone too.</param>
    /// <param name="Tight">Where it stands on a phone when it has not: of the first and the last column inwards. Null: not at all.</param>
    internal sealed record Place(string X, string Width, string Middle, int Y, int Height, Column Column, bool HasRoom, (string X, string Anchor)? Tight);

    public IReadOnlyList<Place> Places { get; }

    public string Words { get; }

    private static (string, string) TightOf(int column, int columns, int room) =>
        column == columns - 1 ? (Percent((column + 0.9) * 100 / room), "end") : column == 0 ? (Percent(10.0 / room), "start") : (Percent((column + 0.5) * 100 / room), "middle");

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
