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

    public Columns(string what, IReadOnlyList<Column> columns)
    {
        Words = $"{what}: {string.Join("; ", columns.Select(c => $"{c.Label}: {c.Figure}"))}.";
        var highest = Math.Max(columns.Max(c => c.Value), double.Epsilon);
        var best = columns.Select((c, i) => (c.Value, i)).MaxBy(c => c.Value).i;
        Places = [.. columns.Select((column, i) =>
        {
            var height = column.Value <= 0 ? 0 : Math.Max(2, (int)Math.Round(column.Value / highest * Most));
            // The last one's name wins where the highest stands right beside it.
            var isNamed = i == columns.Count - 1 || (i == best && columns.Count - 1 - best > 2);
            return new Place(Percent((i + 0.1) * 100 / columns.Count), Percent(80.0 / columns.Count), Percent((i + 0.5) * 100 / columns.Count), Room + Most - height, height, column, isNamed);
        })];
    }

    public const int Height = Room + Most + Room;

    internal sealed record Place(string X, string Width, string Middle, int Y, int Height, Column Column, bool IsNamed);

    public IReadOnlyList<Place> Places { get; }

    public string Words { get; }

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
