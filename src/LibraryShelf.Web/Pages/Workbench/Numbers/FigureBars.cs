using System.Globalization;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Rows of one figure each, of boxes or of words: a bar from the left in the scale of the longest, its figure at the end; beneath it, outlined, the same of other days.</summary>
internal sealed class FigureBars
{
    /// <param name="Width">Percent of the picture's width.</param>
    /// <param name="Beside">Of the other days; null: none are shown.</param>
    /// <param name="Note">Under it; empty: nothing is said.</param>
    internal sealed record Row(string Title, string Width, string Figure, Bar? Beside, string Note);

    internal sealed record Bar(string Width, string Figure);

    private FigureBars(IReadOnlyList<(string Title, Value These, Value? Those, string Note)> rows)
    {
        var most = rows.Max(r => Math.Max(r.These.Of, r.Those?.Of ?? 0));
        Rows = [.. rows.Select(r => new Row(r.Title, WidthOf(r.These), r.These.Figure, r.Those is { } those ? new(WidthOf(those), those.Figure) : null, r.Note))];

        string WidthOf(Value value) => Percent(most > 0 ? value.Of / most * 100 : 0);
    }

    private readonly record struct Value(double Of, string Figure);

    public IReadOnlyList<Row> Rows { get; }

    /// <summary>Figures are such as "19 % of 37", which take more room.</summary>
    public bool AreShares { get; private init; }

    /// <summary>Boxes with any, the most first; null: none has.</summary>
    /// <param name="boxes">In these days.</param>
    /// <param name="others">In the days beside them; null: there are none. A box with some in either has a row.</param>
    /// <param name="figure">Which.</param>
    public static FigureBars? Most(IReadOnlyList<BoxNumbers> boxes, IReadOnlyList<BoxNumbers>? others, Func<BoxNumbers, int> figure) =>
        Of(boxes, others, b => figure(b) > 0, b => new(figure(b), figure(b).ToString("N0", Say.Culture)));

    /// <summary>Boxes of which a download was never finished, the largest share first, each with how far these came and why they may have stopped; null: none.</summary>
    public static FigureBars? NotFinished(IReadOnlyList<BoxNumbers> boxes, IReadOnlyList<BoxNumbers>? others) => Of(boxes, others, b => b.NotFinished > 0,
        b => b.PercentNotFinished is { } share ? new(share, T($"{share:0} % of {b.Begun:N0}")) : new(0, T("none begun")), Guess);

    /// <summary>So many words have a bar; the table has more.</summary>
    public const int MostWords = 12;

    /// <summary>Where people came from, or what they looked for in vain, the most frequent of it; null: nothing.</summary>
    /// <param name="words">The most frequent first, each with how often it came up in the days beside; null: no days are shown beside, or that can't be held against it.</param>
    public static FigureBars? Words(IEnumerable<(string Title, int Times, int? Beside)> words)
    {
        List<(string, Value, Value?, string)> rows = [.. words.Take(MostWords).Select(w => (w.Title, Value(w.Times), w.Beside is { } beside ? Value(beside) : (Value?)null, ""))];
        return rows.Count == 0 ? null : new(rows);

        static Value Value(int times) => new(times, times.ToString("N0", Say.Culture));
    }

    private static FigureBars? Of(IReadOnlyList<BoxNumbers> boxes, IReadOnlyList<BoxNumbers>? others, Func<BoxNumbers, bool> has, Func<BoxNumbers, Value> value, Func<BoxNumbers, string>? note = null)
    {
        var then = others?.ToDictionary(b => b.LibraryId);
        List<(string Title, Value These, Value? Those, string Note)> rows = [.. boxes.Select(b => (Box: b, Then: then?.GetValueOrDefault(b.LibraryId))).Where(b => has(b.Box) || (b.Then is { } other && has(other)))
            .Select(b => (b.Box.Title, value(b.Box), b.Then is { } other ? value(other) : (Value?)null, note?.Invoke(b.Box) ?? ""))];
        return rows.Count == 0 ? null : new([.. rows.OrderByDescending(r => r.These.Of).ThenByDescending(r => r.Those?.Of).ThenBy(r => r.Title, StringComparer.Ordinal)]) { AreShares = note is not null };
    }

    /// <summary>"7 (19 %)"; none is 0.</summary>
    public static string NotFinished(BoxNumbers box) => box.NotFinished == 0 ? "0" : T($"{box.NotFinished:N0} ({box.PercentNotFinished:0} %)");

    /// <summary>Common practice, no source: an hour at a household's 10 Mbit/s.</summary>
    private const long Large = 4_500_000_000;

    /// <summary>Of fewer downloads nothing is guessed: "most" of one is somebody. The house's own, no source.</summary>
    private const int Few = 5;

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
        { Size: > Large, Whole: { NotFinished: > 0, Left: { Known: >= Few and var known, Again: var again } } } when again * 2 < known => T($"Large: {Sizes.Of(box.Size)}. Most never asked again; perhaps their programs can’t go on after a break."),
        { Size: > Large, Whole.NotFinished: > 0 } => T($"Large: {Sizes.Of(box.Size)}."),
        { Left: { Known: >= Few and var known, Again: var again } } when again * 2 >= known => T("Most asked again and broke off again: perhaps the way to them breaks."),
        _ => "",
    };

    private static string Both(string one, string other) => other.Length == 0 ? one : $"{one} {other}";

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
