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

    /// <summary>Why they may have stopped, from what is known: never more than a guess, and said as one.</summary>
    public static string Guess(BoxNumbers box) => box switch
    {
        { NotFinished: 0 } => "",
        // The size is the whole library's, so whole libraries alone are held against it.
        // Common practice, no source: an hour and more at a household's 10 Mbit/s.
        { Size: > 4_500_000_000, Whole: { NotFinished: > 0, Resumes: var resumes, Begun: var begun } } when resumes * 10 < begun => T($"Large: {Sizes.Of(box.Size)}. Hardly anyone went on after a break; perhaps their programs can’t."),
        { Size: > 4_500_000_000, Whole.NotFinished: > 0 } => T($"Large: {Sizes.Of(box.Size)}."),
        _ when box.Resumes > box.Begun => T("Many broke off and went on: perhaps the way to them breaks."),
        _ => "",
    };

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
