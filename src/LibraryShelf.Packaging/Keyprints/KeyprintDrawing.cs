using System.Text;

namespace LibraryShelf.Packaging.Keyprints;

/// <summary>
/// Draws a keyprint as an SVG file: paints as attributes, no style and no text, so that it stands under a strict content policy and needs no font. The same keyprint
/// and paint give the same bytes, whenever and wherever.
/// </summary>
public static class KeyprintDrawing
{
    /// <summary>Width and height of the square, in the drawing's units.</summary>
    public const int Side = 600;

    /// <summary>Between these the keys stand.</summary>
    public const double Left = 64, Right = 536;

    /// <summary>The waterline of the large picture, 73.5 % down.</summary>
    public const double Line = 0.735 * Side;

    /// <summary>The waterline of the small picture, 80 % down.</summary>
    private const double SmallLine = 0.8 * Side;

    /// <summary>Left free above the tallest reed.</summary>
    private const double Top = 36;

    /// <summary>The takes begin below the line, and end before the names of the lowest and highest key, which a page writes there.</summary>
    private const double TakesFrom = Line + 20, TakesTo = Side - 36, TakesRow = 15;

    private const double WidestNotch = 22;

    /// <summary>How far up the large picture a ring of so many seconds reaches, in the drawing's units from the top.</summary>
    public static double TopOf(double seconds) => Line - ReedStand.HeightOf(seconds) * (Line - Top);

    /// <summary>Where the rows of takes end in the large picture, in the drawing's units from the top.</summary>
    public static double TakesEnd(Keyprint print) => Math.Min(TakesTo, TakesFrom + TakesRow * print.Reeds.Select(r => r.Takes).DefaultIfEmpty().Max());

    /// <summary>With the takes under the line; for 120 px and more.</summary>
    public static string Large(Keyprint print, PrintPaint paint) => Draw(print, paint, Line, withTakes: true);

    /// <summary>Without the takes; for less than 120 px.</summary>
    public static string Small(Keyprint print, PrintPaint paint) => Draw(print, paint, SmallLine, withTakes: false);

    private static string Draw(Keyprint print, PrintPaint paint, double line, bool withTakes)
    {
        var svg = new StringBuilder($"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {Side} {Side}\" width=\"{Side}\" height=\"{Side}\"><rect width=\"{Side}\" height=\"{Side}\" fill=\"{paint.Ground}\"/>");
        var stand = new ReedStand(print, new StandPlace(Left, Right, line, line - Top));
        stand.WriteReeds(svg, paint);
        var (thickness, notch) = withTakes ? (3, 10) : (9, 20);
        svg.Append($"<path fill=\"{paint.Ink}\" d=\"M16 {SvgNumbers.Of(line)}h568v{thickness}h-568z");
        foreach (var key in Enumerable.Range(print.Lowest, print.Highest - print.Lowest + 1).Where(IsAccidental))
        {
            var width = Math.Min(0.9 * stand.Column, WidestNotch);
            svg.Append($"M{SvgNumbers.Of(stand.LeftOf(key) + (stand.Column - width) / 2)} {SvgNumbers.Of(line)}h{SvgNumbers.Of(width)}v{notch}h{SvgNumbers.Of(-width)}z");
        }
        svg.Append("\"/>");
        if (withTakes)
            stand.WriteTakes(svg, paint.Ink, TakesFrom, TakesTo, TakesRow);
        return svg.Append("</svg>\n").ToString();
    }

    private static bool IsAccidental(int key) => key % 12 is 1 or 3 or 6 or 8 or 10;
}
