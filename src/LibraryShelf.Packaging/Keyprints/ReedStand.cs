using System.Text;

namespace LibraryShelf.Packaging.Keyprints;

/// <summary>Where a stand of reeds is drawn: from <paramref name="Left"/> to <paramref name="Right"/>, up from <paramref name="Line"/> by at most <paramref name="Room"/>.</summary>
internal sealed record StandPlace(double Left, double Right, double Line, double Room);

/// <summary>Draws a keyprint's reeds and takes: each key a column, low keys left, each layer a reed, the softest left.</summary>
internal sealed class ReedStand(Keyprint print, StandPlace place)
{
    /// <summary>The ruler of heights: a tenth of a second and ten are told apart alike. Above the last, a reed is as tall as can be.</summary>
    private const double ShortSeconds = 0.06, LongSeconds = 12;

    /// <summary>From here brightness is told, and to here, Hz; common practice, no source.</summary>
    private const double DarkHz = 100, BrightHz = 10_000;

    /// <summary>The softest reed that is told from softer ones lies this far below the loudest, dB; common practice, no source.</summary>
    private const double LoudnessRange = 36;

    /// <summary>A start this quick has a full foot, one this slow the narrowest, milliseconds; common practice, no source.</summary>
    private const double QuickMs = 15, SlowMs = 250;

    private const double MostLean = 0.62, NarrowestFoot = 0.3, WidestReed = 16;

    private readonly double _column = (place.Right - place.Left) / Math.Max(1, print.Highest - print.Lowest + 1);
    private readonly double _loudest = print.Reeds.Select(r => r.LoudnessDb).DefaultIfEmpty().Max();

    public double Column => _column;

    public double LeftOf(int key) => place.Left + (key - print.Lowest) * _column;

    /// <summary>How far up the room a ring of so many seconds reaches, 0 to 1.</summary>
    public static double HeightOf(double seconds) => Math.Min(1, Math.Log(1 + seconds / ShortSeconds) / Math.Log(1 + LongSeconds / ShortSeconds));

    public void WriteReeds(StringBuilder svg, PrintPaint paint)
    {
        foreach (var (isSoft, colour) in new[] { (true, paint.Soft), (false, paint.Ink) })
        {
            var shapes = string.Concat(InOrder().Where(r => r.IsSoft == isSoft).Select(ShapeOf));
            if (shapes.Length > 0)
                svg.Append($"<path fill=\"{colour}\" d=\"{shapes}\"/>");
        }
    }

    /// <summary>Below the line, one dash a take under its reed.</summary>
    /// <param name="svg">Written to.</param>
    /// <param name="colour">Of the dashes.</param>
    /// <param name="from">Where the first row is.</param>
    /// <param name="to">Which the last row does not pass; rows move closer for that.</param>
    /// <param name="row">From one row to the next, at most.</param>
    public void WriteTakes(StringBuilder svg, string colour, double from, double to, double row)
    {
        var rows = Math.Min(row, (to - from) / Math.Max(1, print.Reeds.Select(r => r.Takes).DefaultIfEmpty().Max()));
        var dashes = new StringBuilder();
        foreach (var reed in InOrder())
        {
            var width = Math.Min(0.6 * SlotOf(reed), WidestReed / 2);
            for (var take = 0; take < reed.Takes; take++)
                dashes.Append($"M{SvgNumbers.Of(MiddleOf(reed) - width / 2)} {SvgNumbers.Of(from + take * rows)}h{SvgNumbers.Of(Math.Max(0.4, width))}v{SvgNumbers.Of(0.6 * rows)}h{SvgNumbers.Of(-Math.Max(0.4, width))}z");
        }
        svg.Append($"<path fill=\"{colour}\" d=\"{dashes}\"/>");
    }

    private IOrderedEnumerable<Reed> InOrder() => print.Reeds.OrderBy(r => r.Key).ThenBy(r => r.Layer);

    private double SlotOf(Reed reed) => Math.Min(0.86 * _column / reed.Layers, 2 * WidestReed);

    private double MiddleOf(Reed reed) => LeftOf(reed.Key) + _column / 2 + (reed.Layer - (reed.Layers + 1) / 2d) * SlotOf(reed);

    private string ShapeOf(Reed reed)
    {
        var loudness = Math.Clamp(1 + (reed.LoudnessDb - _loudest) / LoudnessRange, 0, 1);
        var width = Math.Min(WidestReed, SlotOf(reed) * (0.35 + 0.75 * loudness));
        // Past the top of the room, so that no end of it is seen.
        var height = reed.IsLooped ? 1.15 * place.Room : Math.Max(1, HeightOf(reed.RingSeconds) * place.Room);
        var brightness = Share(reed.BrightnessHz, DarkHz, BrightHz);
        return ReedShape.Of(MiddleOf(reed), place.Line, width, height, MostLean * brightness * height,
            1 - (1 - NarrowestFoot) * Share(reed.AttackMs, QuickMs, SlowMs), reed.IsLooped);
    }

    /// <summary>Where a value lies between two on a log ruler, 0 to 1.</summary>
    private static double Share(double value, double from, double to) =>
        value <= from ? 0 : Math.Min(1, Math.Log(value / from) / Math.Log(to / from));
}
