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

    /// <summary>Of the wide picture, as programs that show links ask for it (common practice, no source).</summary>
    public const int ShareWidth = 1200, ShareHeight = 630;

    private const double ShareLine = 490;

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
    public static string Large(Keyprint print, PrintPaint paint) => Draw(print, paint, Sheet.Large, withTakes: true);

    /// <summary>Without the takes; for less than 120 px.</summary>
    public static string Small(Keyprint print, PrintPaint paint) => Draw(print, paint, Sheet.Small, withTakes: false);

    /// <summary>Wide, for showing elsewhere: the left third is free for words, which are no part of it.</summary>
    public static string Share(Keyprint print, PrintPaint paint) => Draw(print, paint, Sheet.Share, withTakes: true);

    /// <summary>A sheet's size, the line's ends and height on it, and between which the keys stand.</summary>
    private sealed record Sheet(int Width, int Height, double Line, int LineFrom, int LineTo, double Left, double Right)
    {
        public static readonly Sheet Large = new(Side, Side, KeyprintDrawing.Line, 16, 584, KeyprintDrawing.Left, KeyprintDrawing.Right);
        public static readonly Sheet Small = Large with { Line = SmallLine };
        public static readonly Sheet Share = new(ShareWidth, ShareHeight, ShareLine, 496, 1184, 520, 1140);
    }

    private static string Draw(Keyprint print, PrintPaint paint, Sheet sheet, bool withTakes)
    {
        var line = sheet.Line;
        var svg = new StringBuilder($"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {sheet.Width} {sheet.Height}\" width=\"{sheet.Width}\" height=\"{sheet.Height}\"><rect width=\"{sheet.Width}\" height=\"{sheet.Height}\" fill=\"{paint.Ground}\"/>");
        var stand = new ReedStand(print, new StandPlace(sheet.Left, sheet.Right, line, line - Top));
        stand.WriteReeds(svg, paint);
        var (thickness, notch) = withTakes ? (3, 10) : (9, 20);
        svg.Append($"<path fill=\"{paint.Ink}\" d=\"M{sheet.LineFrom} {SvgNumbers.Of(line)}h{sheet.LineTo - sheet.LineFrom}v{thickness}h{sheet.LineFrom - sheet.LineTo}z");
        foreach (var key in Enumerable.Range(print.Lowest, print.Highest - print.Lowest + 1).Where(IsAccidental))
        {
            var width = Math.Min(0.9 * stand.Column, WidestNotch);
            svg.Append($"M{SvgNumbers.Of(stand.LeftOf(key) + (stand.Column - width) / 2)} {SvgNumbers.Of(line)}h{SvgNumbers.Of(width)}v{notch}h{SvgNumbers.Of(-width)}z");
        }
        svg.Append("\"/>");
        if (withTakes)
            stand.WriteTakes(svg, paint.Ink, line + TakesFrom - Line, sheet.Height - Side + TakesTo, TakesRow);
        return svg.Append("</svg>\n").ToString();
    }

    private static bool IsAccidental(int key) => key % 12 is 1 or 3 or 6 or 8 or 10;
}
