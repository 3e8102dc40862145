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
    /// <summary>Named days stand this far apart, as a share of the width, so that their names don't meet on a phone.</summary>
    private const double PeakDistance = 0.3;
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
        Peaks = [.. PeaksOf(days).Select(i => Name(days[i], (i + 0.5) / days.Count, highest))];
        (First, Last) = (buckets.Short(days[0]), buckets.Short(days[^1]));
    }

    internal sealed record Bar(string X, string Width, int Y, int Height);

    /// <param name="X">Percent of the width.</param>
    /// <param name="Y">Base line of the words, px.</param>
    /// <param name="Anchor">start, middle or end: words near an edge grow inwards.</param>
    /// <param name="Words">Such as "1 Nov: 473".</param>
    internal sealed record Peak(string X, int Y, string Anchor, string Words);

    public IReadOnlyList<Bar> Bars { get; }

    public IReadOnlyList<Peak> Peaks { get; }

    public string First { get; }

    public string Last { get; }

    /// <summary>The picture for who does not see it.</summary>
    public string Words => Peaks.Count == 0 ? buckets.Bar(First, Last) : T($"{buckets.Bar(First, Last)} Highest: {string.Join("; ", Peaks.Select(p => p.Words))}.");

    private static List<int> PeaksOf(IReadOnlyList<DayFigures> days)
    {
        var peaks = new List<int>();
        var least = Math.Max(1, days.Max(d => d.Finished) * PeakShare);
        foreach (var (day, i) in days.Select((d, i) => (d, i)).OrderByDescending(d => d.d.Finished).ThenByDescending(d => d.i))
        {
            if (day.Finished < least || peaks.Count == MostPeaks) break;
            if (IsHighestNear(days, i) && peaks.TrueForAll(p => Math.Abs(p - i) >= PeakDistance * days.Count)) peaks.Add(i);
        }
        return peaks;
    }

    /// <summary>Else its name would stand in a higher bar beside it, on a phone the sooner.</summary>
    private static bool IsHighestNear(IReadOnlyList<DayFigures> days, int at) =>
        Enumerable.Range(at - Reach(days), (2 * Reach(days)) + 1).All(i => i < 0 || i >= days.Count || days[i].Finished <= days[at].Finished);

    /// <summary>Half a name of a phone's width.</summary>
    private static int Reach(IReadOnlyList<DayFigures> days) => Math.Max(3, (int)(days.Count * PeakDistance / 2));

    private Peak Name(DayFigures day, double place, int highest)
    {
        var top = Height - (int)Math.Round((double)day.Finished / highest * (Height - HeadRoom));
        var anchor = place switch { < 0.12 => "start", > 0.88 => "end", _ => "middle" };
        return new(Percent(place * 100), top - 8, anchor, $"{buckets.Short(day)}: {day.Finished}");
    }

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
