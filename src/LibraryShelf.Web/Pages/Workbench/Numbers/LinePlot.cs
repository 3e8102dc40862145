using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>One line: its name at its end, a value a day.</summary>
/// <param name="Name">"people".</param>
/// <param name="Values">Oldest first; null: there is none on that day.</param>
internal sealed record LineSeries(string Name, IReadOnlyList<double?> Values);

/// <summary>
/// The picture of a figure over days: lines, their last values and names beside their ends, the highest day of the first named. Places along the days are shares of
/// the width, heights are pixels. js/lines.js draws the same points with uPlot in the same scale; the words stay where they are.
/// </summary>
internal sealed class LinePlot
{
    public const int Height = 200, Width = 1000;

    /// <summary>Over the highest point for its name, px.</summary>
    public const int HeadRoom = 30;

    /// <summary>From one line of words to the next, px.</summary>
    private const int Line = 20;

    private readonly LocalDate first;
    private readonly int days;
    private readonly IReadOnlyList<CameOut> came;

    /// <param name="id">Its own on the page.</param>
    /// <param name="what">"People a day".</param>
    /// <param name="first">Of the days.</param>
    /// <param name="series">One or more, of as many days; the first is drawn strongest.</param>
    /// <param name="isPercent">Values are in a hundred, and the height is a hundred; else counts, and the height is the highest.</param>
    /// <param name="top">Counts that the height is at least: two pictures are compared in one scale.</param>
    /// <param name="came">What came out in these days and on the day before them, by which the highest is named.</param>
    public LinePlot(string id, string what, LocalDate first, IReadOnlyList<LineSeries> series, bool isPercent = false, double top = 0, IReadOnlyList<CameOut>? came = null)
    {
        (Id, this.first, days, IsPercent, this.came) = (id, first, series[0].Values.Count, isPercent, came ?? []);
        Top = isPercent ? 100 : Math.Max(1, Math.Max(top, series.Max(s => s.Values.Max()) ?? 0));
        Series = series;
        Paths = [.. series.Select(s => PathOf(s.Values))];
        Ends = EndsOf(series);
        Peak = PeakOf(series[0].Values);
        Last = series[0].Values[^1] is { } value ? Y(value) : null;
        var ends = string.Join("; ", Ends.OrderBy(e => e.Of).Select(e => e.Words));
        Words = Peak is { } peak
            ? T($"{what}, a line from {Name(0)} to {Name(days - 1)}. {ends} at the end. Highest: {peak.Name.Words}.")
            : T($"{what}, a line from {Name(0)} to {Name(days - 1)}. {ends} at the end.");
    }

    public string Id { get; }

    /// <summary>Its last day is today: yellow is for now alone.</summary>
    public bool IsToNow { get; init; }

    public bool IsPercent { get; }

    /// <summary>The value at <see cref="HeadRoom"/> from above.</summary>
    public double Top { get; }

    public IReadOnlyList<LineSeries> Series { get; }

    /// <summary>In <see cref="Width"/> by <see cref="Height"/>; a day without a value breaks it.</summary>
    public IReadOnlyList<string> Paths { get; }

    /// <param name="Of">Which line.</param>
    /// <param name="From">Where it ends, px.</param>
    /// <param name="Y">Where its words are, px.</param>
    internal sealed record End(int Of, string Words, int From, int Y);

    public IReadOnlyList<End> Ends { get; }

    /// <param name="X">Percent of the width.</param>
    /// <param name="Y">Base line of the words, px.</param>
    internal sealed record Named(string X, int Y, string Anchor, PeakName Name);

    /// <summary>Null: it is the last day, which has its words already, or no day has any.</summary>
    public Named? Peak { get; }

    /// <summary>Where the first line ends, px; null: it has no value there.</summary>
    public int? Last { get; }

    /// <summary>The picture for who does not see it.</summary>
    public string Words { get; }

    public string First => LocalDatePattern.Iso.Format(first);

    public string FirstWords => Name(0);

    public string LastWords => Name(days - 1);

    /// <summary>For the script: a line after another, days without a value empty.</summary>
    public string Values => string.Join(';', Series.Select(s => string.Join(',', s.Values.Select(v => v?.ToString("0.##", CultureInfo.InvariantCulture)))));

    private string Name(int day) => first.PlusDays(day).ToString(days > 365 ? T("d MMM uuuu") : T("d MMM"), Say.Culture);

    private int Y(double value) => (int)Math.Round(Height - (value / Top * (Height - HeadRoom)));

    private string Figure(double value) => IsPercent ? VersionWords.Percent(value) : value.ToString("N0", Say.Culture);

    private string PathOf(IReadOnlyList<double?> values)
    {
        var (path, isDown) = (new StringBuilder(), false);
        for (var i = 0; i < values.Count; i++)
        {
            if (values[i] is { } value)
                path.Append(CultureInfo.InvariantCulture, $"{(isDown ? 'L' : 'M')}{(values.Count == 1 ? Width : (double)Width * i / (values.Count - 1)):0.#} {Height - (value / Top * (Height - HeadRoom)):0.#}");
            isDown = values[i] is not null;
        }
        return path.ToString();
    }

    /// <summary>From above; where two would meet the lower one moves down, and all of them up again if the last left the picture.</summary>
    private List<End> EndsOf(IReadOnlyList<LineSeries> series)
    {
        var ends = series.Select((s, i) => (s, i)).Where(s => s.s.Values[^1] is not null)
            .Select(s => (s.i, Words: $"{s.s.Name}: {Figure(s.s.Values[^1]!.Value)}", From: Y(s.s.Values[^1]!.Value))).OrderBy(e => e.From).ThenBy(e => e.i).ToList();
        var places = new int[ends.Count];
        for (var i = 0; i < ends.Count; i++)
            places[i] = i == 0 ? ends[i].From : Math.Max(ends[i].From, places[i - 1] + Line);
        for (var i = ends.Count - 1; i >= 0; i--)
            places[i] = Math.Min(places[i], (i == ends.Count - 1 ? Height : places[i + 1]) - (i == ends.Count - 1 ? 4 : Line));
        return [.. ends.Select((e, i) => new End(e.i, e.Words, e.From, places[i]))];
    }

    private Named? PeakOf(IReadOnlyList<double?> values)
    {
        var (value, day) = values.Select((v, i) => (v ?? 0, i)).MaxBy(v => v.Item1);
        if (value <= 0 || day == values.Count - 1 || (IsPercent && value - (values[^1] ?? 0) < 1))
            return null;
        var place = (double)day / (values.Count - 1);
        var on = first.PlusDays(day);
        // Half a name of a phone's width, of which the words at the ends take more than a third.
        return new(Percent(place * 100), Y(value) - 9, place switch { < 0.25 => "start", > 0.75 => "end", _ => "middle" },
            PeakName.Of(Name(day), Figure(value), isDay: true, [.. came.Where(c => c.Day == on)], [.. came.Where(c => c.Day == on.PlusDays(-1))]));
    }

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
