using System.Globalization;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Rows of one figure each: a bar from the left in the scale of the longest, its figure at the end.</summary>
internal sealed class LibraryBars
{
    /// <param name="Width">Percent of the picture's width.</param>
    internal sealed record Row(string Title, string Width, string Figure);

    private LibraryBars(IEnumerable<(string Title, double Value, string Figure)> rows)
    {
        var all = rows.ToList();
        var most = all.Max(r => r.Value);
        Rows = [.. all.Select(r =>
        {
            var width = most > 0 ? r.Value / most * 100 : 0;
            return new Row(r.Title, Percent(width), r.Figure);
        })];
    }

    public IReadOnlyList<Row> Rows { get; }

    /// <summary>Boxes with any, the most first; null: none has.</summary>
    public static LibraryBars? Most(IReadOnlyList<BoxNumbers> boxes, Func<BoxNumbers, int> figure)
    {
        var some = boxes.Where(b => figure(b) > 0).OrderByDescending(figure).ThenBy(b => b.Title, StringComparer.Ordinal).ToList();
        return some.Count == 0 ? null : new(some.Select(b => (b.Title, (double)figure(b), figure(b).ToString("N0", Say.Culture))));
    }

    /// <summary>Boxes of which a download was never finished, the largest share first; null: none.</summary>
    public static LibraryBars? NotFinished(IReadOnlyList<BoxNumbers> boxes)
    {
        var some = boxes.Where(b => b.NotFinished > 0).OrderByDescending(b => b.PercentNotFinished).ThenBy(b => b.Title, StringComparer.Ordinal).ToList();
        return some.Count == 0 ? null : new(some.Select(b => (b.Title, b.PercentNotFinished!.Value, T($"{b.PercentNotFinished:0} % of {b.Begun:N0}"))));
    }

    /// <summary>"7 (19 %)"; none is 0.</summary>
    public static string NotFinished(BoxNumbers box) => box.NotFinished == 0 ? "0" : T($"{box.NotFinished:N0} ({box.PercentNotFinished:0} %)");

    /// <summary>Common practice, no source: an hour at a household's 10 Mbit/s.</summary>
    private const long Large = 4_500_000_000;

    /// <summary>How far those came that stopped, and why they may have: never more than a guess, and said as one. docs/counting.md has the rule.</summary>
    public static string Guess(BoxNumbers box) => (Cause(box), box.Left.Percent) switch
    {
        _ when box.NotFinished == 0 => "",
        (var cause, null) => cause,
        (var cause, < 1) => Both(T("They came to less than 1 % of it, on average."), cause),
        var (cause, came) => Both(T($"They came to {came:0} % of it, on average."), cause),
    };

    private static string Cause(BoxNumbers box) => box switch
    {
        // The size is the whole library's, so whole libraries alone are held against it.
        { Size: > Large, Whole: { NotFinished: > 0, Left: { Known: > 0 and var known, Again: var again } } } when again * 2 < known => T($"Large: {Sizes.Of(box.Size)}. Most never asked again; perhaps their programs can’t go on after a break."),
        { Size: > Large, Whole.NotFinished: > 0 } => T($"Large: {Sizes.Of(box.Size)}."),
        { Left: { Known: > 0 and var known, Again: var again } } when again * 2 >= known => T("Most asked again and broke off again: perhaps the way to them breaks."),
        _ => "",
    };

    private static string Both(string one, string other) => other.Length == 0 ? one : $"{one} {other}";

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
