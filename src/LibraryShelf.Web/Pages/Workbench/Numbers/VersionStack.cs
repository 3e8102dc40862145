using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>
/// The picture of who is on which version: areas one on another, the newest on top, which always fill the height. Places along the days are shares of the
/// width, heights are pixels, so that it fits any page width without stretching its words.
/// </summary>
internal sealed class VersionStack
{
    /// <summary>Of the areas, px.</summary>
    public const int PlotHeight = 300;
    /// <summary>The width the areas are drawn in; stretched to the page's.</summary>
    public const int PlotWidth = 1000;
    /// <summary>From one line of words to the next, px.</summary>
    private const int Line = 20;
    /// <summary>More areas than this can't be told apart: the lowest of more become one.</summary>
    private const int MostAreas = 7;
    /// <summary>Days drawn; of more, some are left out.</summary>
    private const int MostPoints = 370;
    /// <summary>Words of two versions in one line stand this far apart, as a share of the width, so that they don't meet on a phone.</summary>
    private const double WordsApart = 0.27;
    private const int MostRows = 3;

    private readonly VersionShares shares;
    private readonly List<ShareDay> points;

    public VersionStack(VersionShares shares)
    {
        this.shares = shares;
        points = PointsOf(shares.Days);
        var bands = BandsOf(shares);
        var floor = points.ConvertAll(_ => 0.0);
        var areas = new List<Area>();
        var ends = new List<(string Words, bool IsLatest, double Middle)>();
        foreach (var (band, i) in bands.Select((b, i) => (b, i)))
        {
            var top = points.Select((p, n) => floor[n] + Share(p, band.Places)).ToList();
            // The topmost ends at the very top, whatever was lost in rounding.
            areas.Add(new(band.IsLatest ? "now" : Tone(bands.Count - 1 - i, bands), PathOf(floor, top)));
            var people = band.Places.Sum(p => shares.Days[^1].People[p]);
            if (people > 0)
                ends.Add(($"{band.Name}: {VersionWords.Percent(people, shares.People)}", band.IsLatest, (floor[^1] + top[^1]) / 2));
            floor = top;
        }
        Areas = areas;
        Ends = EndsOf(ends);
        Came = CameOf(shares);
    }

    /// <param name="Tone">now, or 1 (darkest) to 5.</param>
    /// <param name="Path">In <see cref="PlotWidth"/> by <see cref="PlotHeight"/>.</param>
    internal sealed record Area(string Tone, string Path);

    /// <summary>The words at the end of an area.</summary>
    /// <param name="Words">"2.1.0: 66 %".</param>
    /// <param name="IsLatest">Said louder.</param>
    /// <param name="From">Where the area is, px.</param>
    /// <param name="Y">Where the words are, px.</param>
    internal sealed record End(string Words, bool IsLatest, int From, int Y);

    /// <summary>When a version came out.</summary>
    /// <param name="X">Percent of the width.</param>
    /// <param name="Anchor">start, middle or end: words near an edge grow inwards.</param>
    /// <param name="Number">Empty: there is no room for it here, the table says it.</param>
    /// <param name="Y">Base line of the words, px.</param>
    internal sealed record Out(string X, string Anchor, string Number, int Y);

    public IReadOnlyList<Area> Areas { get; }

    public IReadOnlyList<End> Ends { get; }

    public IReadOnlyList<Out> Came { get; }

    /// <summary>Of the whole, with the words under the areas, px.</summary>
    public int Height => Math.Max(Came.Count == 0 ? PlotHeight + 2 : Came.Max(c => c.Y) + 6, Ends.Count == 0 ? 0 : Ends[^1].Y + 8);

    /// <summary>The picture for who does not see it.</summary>
    public string Words => T($"People by version from {VersionWords.Day(shares.Range.First)} to {VersionWords.Day(shares.Range.Last)}. At the end: {string.Join("; ", Ends.Select(e => e.Words))}.");

    /// <summary>One version, or the lowest ones together.</summary>
    private sealed record Band(string Name, bool IsLatest, int[] Places);

    private static List<Band> BandsOf(VersionShares shares)
    {
        var seen = Enumerable.Range(0, shares.Versions.Count).Where(i => shares.Days.Any(d => d.People[i] > 0)).ToList();
        var bands = seen.ConvertAll(i => new Band(shares.Versions[i].Number, shares.Versions[i].Id == shares.LatestId, [i]));
        if (bands.Count <= MostAreas)
            return bands;
        var lowest = bands[..^(MostAreas - 1)];
        return [new Band(T($"{lowest[^1].Name} and before"), lowest.Exists(b => b.IsLatest), [.. lowest.SelectMany(b => b.Places)]), .. bands[^(MostAreas - 1)..]];
    }

    /// <summary>The one below the latest is the darkest, each older one lighter; one above it, given early, is ink.</summary>
    private static string Tone(int fromTop, List<Band> bands)
    {
        var latest = bands.Count - 1 - bands.FindLastIndex(b => b.IsLatest);
        var below = latest >= bands.Count ? fromTop + 1 : fromTop - latest;
        return (below <= 0 ? 1 : Math.Min(5, below + 1)).ToString(CultureInfo.InvariantCulture);
    }

    /// <summary>The days since anybody had the box, not more of them than can be seen, the last always.</summary>
    private static List<ShareDay> PointsOf(IReadOnlyList<ShareDay> days)
    {
        var step = (days.Count + MostPoints - 1) / MostPoints;
        return [.. days.Where((d, i) => (days.Count - 1 - i) % step == 0 && d.Total > 0)];
    }

    private static double Share(ShareDay day, int[] places) => (double)places.Sum(p => day.People[p]) / day.Total;

    private double XOf(ShareDay day) => DayShare(NodaTime.Period.DaysBetween(shares.Range.First, day.Day));

    private double DayShare(int day) => shares.Range.Days == 1 ? 1 : (double)day / (shares.Range.Days - 1);

    private string PathOf(List<double> floor, List<double> top)
    {
        var path = new StringBuilder();
        for (var i = 0; i < points.Count; i++)
            Add(i == 0 ? 'M' : 'L', i, top[i]);
        if (points.Count == 1)
            path.Append(CultureInfo.InvariantCulture, $"H0V{Y(floor[0])}H{PlotWidth}");
        for (var i = points.Count - 1; i >= 0; i--)
            Add('L', i, floor[i]);
        return path.Append('Z').ToString();

        void Add(char how, int i, double share) => path.Append(CultureInfo.InvariantCulture, $"{how}{XOf(points[i]) * PlotWidth:0.#} {Y(share)}");
        static string Y(double share) => ((1 - Math.Min(1, share)) * PlotHeight).ToString("0.#", CultureInfo.InvariantCulture);
    }

    /// <summary>From the top down; each at its area, or as near below the one before as words may stand; then back up from the foot where they would leave the picture.</summary>
    private static List<End> EndsOf(List<(string Words, bool IsLatest, double Middle)> ends)
    {
        var inOrder = ends.OrderByDescending(e => e.Middle).ToList();
        var places = new List<int>();
        foreach (var end in inOrder)
            places.Add(Math.Max((int)Math.Round((1 - end.Middle) * PlotHeight), places.Count == 0 ? 10 : places[^1] + Line));
        for (var (i, most) = (places.Count - 1, PlotHeight - 4); i >= 0 && places[i] > most; i--, most -= Line)
            places[i] = most;
        return [.. inOrder.Select((e, i) => new End(e.Words, e.IsLatest, (int)Math.Round((1 - e.Middle) * PlotHeight), places[i]))];
    }

    private List<Out> CameOf(VersionShares of)
    {
        var came = new List<Out>();
        var rows = new List<double>();
        foreach (var version in of.Versions.Where(v => v.OutOn >= of.Range.First && v.OutOn <= of.Range.Last).OrderBy(v => v.OutOn))
        {
            var x = DayShare(NodaTime.Period.DaysBetween(of.Range.First, version.OutOn!.Value));
            var row = rows.FindIndex(end => x - end >= WordsApart);
            if (row < 0 && rows.Count < MostRows)
            {
                row = rows.Count;
                rows.Add(x);
            }
            else if (row >= 0)
            {
                rows[row] = x;
            }
            came.Add(new((x * 100).ToString("0.###", CultureInfo.InvariantCulture) + "%", x switch { < 0.12 => "start", > 0.88 => "end", _ => "middle" }, row < 0 ? "" : version.Number, PlotHeight + 4 + ((Math.Max(0, row) + 1) * Line)));
        }
        return came;
    }
}
