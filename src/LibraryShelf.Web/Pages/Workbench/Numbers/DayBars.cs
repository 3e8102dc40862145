using System.Globalization;
using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>
/// The picture of finished downloads a day, week or month: bars whose place and width are percentages and whose height is pixels, so that it
/// fits any page width without stretching its words.
/// </summary>
internal sealed class DayBars
{
    public const int Height = 176;
    /// <summary>Room over the highest bar for the name of its day, px.</summary>
    private const int HeadRoom = 28;
    private const int MostPeaks = 3;
    /// <summary>A day lower than this share of the highest is no peak.</summary>
    private const double PeakShare = 0.25;
    /// <summary>Room for a name, as a share of the width, so that no two meet on a phone and no higher bar stands in one.</summary>
    internal const double NameShare = 0.3;
    private readonly DayBuckets buckets;

    /// <param name="buckets">What stands beside each other.</param>
    /// <param name="scale">How many finished downloads the whole height is; 0: the highest bar's. Two pictures are compared in one scale.</param>
    public DayBars(DayBuckets buckets, int scale = 0)
    {
        this.buckets = buckets;
        var days = buckets.Bars;
        var highest = Math.Max(1, Math.Max(scale, days.Max(d => d.Finished)));
        var step = 100.0 / days.Count;
        Bars = [.. days.Select((day, i) => (day, i)).Where(d => d.day.Finished > 0).Select(d =>
        {
            var height = Math.Max(1, (int)Math.Round((double)d.day.Finished / highest * (Height - HeadRoom)));
            return new Bar(Percent((d.i + 0.05) * step), Percent(step * 0.9), Height - height, height);
        })];
        Peaks = [.. PeaksOf(days).Select(i => Name(i, highest))];
        (First, Last) = (buckets.Short(days[0]), buckets.Short(days[^1]));
    }

    internal sealed record Bar(string X, string Width, int Y, int Height);

    /// <param name="X">Percent of the width.</param>
    /// <param name="Y">Base line of the words, px.</param>
    /// <param name="Anchor">start, middle or end: words near an edge grow inwards.</param>
    internal sealed record Peak(string X, int Y, string Anchor, PeakName Name);

    public IReadOnlyList<Bar> Bars { get; }

    public IReadOnlyList<Peak> Peaks { get; }

    public string First { get; }

    public string Last { get; }

    /// <summary>The picture for who does not see it.</summary>
    public string Words => Peaks.Count == 0 ? buckets.Bar(First, Last) : T($"{buckets.Bar(First, Last)} Highest: {string.Join("; ", Peaks.Select(p => p.Name.Words))}.");

    private static List<int> PeaksOf(IReadOnlyList<DayFigures> days)
    {
        var peaks = new List<int>();
        var least = Math.Max(1, days.Max(d => d.Finished) * PeakShare);
        foreach (var (day, i) in days.Select((d, i) => (d, i)).OrderByDescending(d => d.d.Finished).ThenByDescending(d => d.i))
        {
            if (day.Finished < least || peaks.Count == MostPeaks) break;
            var (from, to) = RoomOf(i, days.Count);
            if (IsHighestIn(days, i, from, to) && peaks.TrueForAll(p => RoomOf(p, days.Count) is var taken && (taken.To <= from || taken.From >= to))) peaks.Add(i);
        }
        return peaks;
    }

    /// <summary>Else its name would stand in a higher bar, on a phone the sooner.</summary>
    private static bool IsHighestIn(IReadOnlyList<DayFigures> days, int at, double from, double to) =>
        Enumerable.Range(0, days.Count).All(i => days[i].Finished <= days[at].Finished || (i + 1.0) / days.Count <= from || (double)i / days.Count >= to);

    private static string AnchorOf(double place) => place switch { < NameShare / 2 => "start", > 1 - (NameShare / 2) => "end", _ => "middle" };

    /// <summary>Where a bar's name is, as shares of the width: near an edge it grows inwards.</summary>
    private static (double From, double To) RoomOf(int bar, int bars)
    {
        var place = (bar + 0.5) / bars;
        return AnchorOf(place) switch { "start" => (place, place + NameShare), "end" => (place - NameShare, place), _ => (place - (NameShare / 2), place + (NameShare / 2)) };
    }

    private Peak Name(int bar, int highest)
    {
        var place = (bar + 0.5) / buckets.Bars.Count;
        var top = Height - (int)Math.Round((double)buckets.Bars[bar].Finished / highest * (Height - HeadRoom));
        return new(Percent(place * 100), top - 8, AnchorOf(place), buckets.NameOf(bar));
    }

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
