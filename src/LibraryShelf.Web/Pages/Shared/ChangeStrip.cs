using System.Globalization;
using System.Text;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Shared;

/// <summary>
/// Where a version changed, on the keys from <paramref name="Low"/> to <paramref name="High"/> (MIDI 0 to 127): one cell a key; bar above =
/// added, ring = re-recorded, dot = louder, softer, trimmed or retagged, slash below = renamed, wedge below = remapped, dash at the bottom =
/// removed. Units are those of the drawing, 300 wide and 44 high.
/// </summary>
public sealed record ChangeStrip(ChangeSummary Summary, int Low, int High)
{
    public const int Width = 300, Height = 44;

    private const double Line = 24;

    /// <summary>From the lowest to the highest key that the version has or that a change is on; null when there is neither.</summary>
    public static ChangeStrip? Of(ChangeSummary summary, int? lowest, int? highest)
    {
        ArgumentNullException.ThrowIfNull(summary);
        int[] keys = [.. summary.Parts.SelectMany(p => p.Keys), .. new[] { lowest, highest }.OfType<int>()];
        return keys.Length == 0 ? null : new ChangeStrip(summary, keys.Min(), keys.Max());
    }

    private double Cell => (double)Width / (High - Low + 1);

    /// <summary>The keys themselves, accidentals apart.</summary>
    public string Keys(bool accidentals) => Path(
        key => KeyRuler.IsAccidental(key) == accidentals, (left, width) => Box(left + width * 0.12, accidentals ? Line - 1.5 : Line - 1, width * 0.76, accidentals ? 3 : 2));

    public string Added => Path(On(ChangeKind.Added), (left, width) => Box(left + width * 0.28, 0, Math.Min(6, width * 0.44), 10));

    public string Removed => Path(On(ChangeKind.Removed), (left, width) => Box(left + width * 0.12, 40, width * 0.76, 3));

    public string Renamed => Path(On(ChangeKind.Moved), (left, width) => Text($"M{Mid(left, width) - 2:0.##} 38l4-10"));

    public string Remapped => Path(On(ChangeKind.Remapped), (left, width) => Text($"M{Mid(left, width) - 3:0.##} 37l3-7 3 7"));

    public string Rings => Path(On(ChangeKind.ReRecorded), (left, width) => Circle(Mid(left, width), 16, Math.Min(4, width * 0.36)));

    public string Dots => Path(
        key => On(ChangeKind.Level)(key) || On(ChangeKind.Trimmed)(key) || On(ChangeKind.Retagged)(key), (left, width) => Circle(Mid(left, width), 16, 1.6));

    /// <summary>The counts that are always said, with their sign; the rest only when there are any.</summary>
    public IReadOnlyList<(ChangeKind Kind, string Words)> Counts => [.. Always.Concat(Sometimes.Where(k => Summary.Count(k) > 0)).Select(k => (k, CountOf(k)))];

    /// <summary>The strip in a sentence, for who can't see it.</summary>
    public string Description
    {
        get
        {
            var touched = Summary.Parts.Where(p => p.Keys.Count > 0).Select(p => Where(p.Kind, Ranges(p.Keys))).ToList();
            return touched.Count == 0 ? T("No key is touched.") : string.Join(' ', touched);
        }
    }

    private static readonly ChangeKind[] Always = [ChangeKind.Added, ChangeKind.ReRecorded, ChangeKind.Moved, ChangeKind.Removed];
    private static readonly ChangeKind[] Sometimes = [ChangeKind.Level, ChangeKind.Trimmed, ChangeKind.Retagged, ChangeKind.Remapped, ChangeKind.Requirement];

    private string CountOf(ChangeKind kind) => (kind, Summary.Count(kind)) switch
    {
        (ChangeKind.Added, 0) => T("none added"),
        (ChangeKind.Added, var count) => T($"{count} added"),
        (ChangeKind.ReRecorded, 0) => T("none re-recorded"),
        (ChangeKind.ReRecorded, var count) => T($"{count} re-recorded"),
        (ChangeKind.Moved, 0) => T("none renamed"),
        (ChangeKind.Moved, var count) => T($"{count} renamed"),
        (ChangeKind.Removed, 0) => T("none removed"),
        (ChangeKind.Removed, var count) => T($"{count} removed"),
        (ChangeKind.Level, var count) => T($"{count} louder or softer"),
        (ChangeKind.Trimmed, var count) => T($"{count} trimmed or faded"),
        (ChangeKind.Retagged, var count) => T($"{count} with other tags"),
        (ChangeKind.Remapped, var count) => T($"{Plural.Of(count, "change")} of the mapping"),
        (_, var count) => T($"{Plural.Of(count, "change")} of what it opens in"),
    };

    public static string Word(ChangeKind kind) => kind switch
    {
        ChangeKind.Added => T("added"),
        ChangeKind.Removed => T("removed"),
        ChangeKind.Moved => T("renamed"),
        ChangeKind.ReRecorded => T("re-recorded"),
        ChangeKind.Level => T("louder or softer"),
        ChangeKind.Trimmed => T("trimmed or faded"),
        ChangeKind.Retagged => T("with other tags"),
        ChangeKind.Remapped => T("mapped otherwise"),
        _ => T("opens in other players"),
    };

    private static string Where(ChangeKind kind, string keys) => kind switch
    {
        ChangeKind.Added => T($"Added on {keys}."),
        ChangeKind.Removed => T($"Removed on {keys}."),
        ChangeKind.Moved => T($"Renamed on {keys}."),
        ChangeKind.ReRecorded => T($"Re-recorded on {keys}."),
        ChangeKind.Level => T($"Louder or softer on {keys}."),
        ChangeKind.Trimmed => T($"Trimmed or faded on {keys}."),
        ChangeKind.Retagged => T($"With other tags on {keys}."),
        ChangeKind.Remapped => T($"Mapped otherwise on {keys}."),
        _ => T($"Opens in other players on {keys}."),
    };

    /// <summary>"C4 to E4, G4".</summary>
    public static string Ranges(IReadOnlyList<int> keys)
    {
        ArgumentNullException.ThrowIfNull(keys);
        var runs = keys.Select((key, index) => (key, run: key - index)).GroupBy(k => k.run, k => k.key);
        return string.Join(", ", runs.Select(run => Notes.Range(run.First(), run.Last())));
    }

    private Func<int, bool> On(ChangeKind kind) => Summary.Keys(kind).ToHashSet().Contains;

    private string Path(Func<int, bool> which, Func<double, double, string> draw)
    {
        var path = new StringBuilder();
        for (var key = Low; key <= High; key++)
            if (which(key))
                path.Append(draw((key - Low) * Cell, Cell));
        return path.ToString();
    }

    private static double Mid(double left, double width) => left + width / 2;

    private static string Box(double left, double top, double width, double height) => Text($"M{left:0.##} {top:0.##}h{width:0.##}v{height:0.##}h-{width:0.##}z");

    private static string Circle(double x, double y, double r) => Text($"M{x - r:0.##} {y:0.##}a{r:0.##} {r:0.##} 0 1 0 {2 * r:0.##} 0a{r:0.##} {r:0.##} 0 1 0 -{2 * r:0.##} 0");

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
