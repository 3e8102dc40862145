using System.Text;

namespace LibraryShelf.Packaging.Keyprints;

/// <summary>
/// Draws a box's spine as an SVG file: as tall as it has keys, with its reeds at the foot, and under the board, of which it leaves the height free, one dash a take. The title
/// is no part of it: that stays text. Drawn like <see cref="KeyprintDrawing"/>: the same in, the same bytes out.
/// </summary>
public static class SpineDrawing
{
    /// <summary>What may be asked for, px.</summary>
    public const int Narrowest = 46, Widest = 240;

    /// <summary>Of the board it stands on, px.</summary>
    public const int Board = 12;

    private const int Foot = 88, Dashes = 40, NotchRadius = 14;

    /// <summary>Between cloth and page, enough against both light and dark.</summary>
    internal const string Edge = "#6d838a";

    /// <summary>Above the board, px.</summary>
    public static int HeightOf(int keys) => 222 + 4 * keys;

    /// <summary>Along the spine between cords or notch and the reeds, px: where its title goes.</summary>
    public static int TitleRoom(int keys, bool isTied) => HeightOf(keys) - Foot - 8 - (isTied ? 48 : 30);

    /// <summary>Of the whole file, px: the board and the dashes under it too.</summary>
    public static int FileHeightOf(int keys) => HeightOf(keys) + Board + Dashes;

    /// <summary>Where the board is not to be filled, px: each recording widens a box by 0.085.</summary>
    public static int WidthOf(int recordings) => Math.Clamp((int)Math.Round(Narrowest + 0.085 * recordings, MidpointRounding.AwayFromZero), Narrowest, Widest);

    /// <param name="print">Its reeds.</param>
    /// <param name="paint">Its colours.</param>
    /// <param name="width">px, <see cref="Narrowest"/> to <see cref="Widest"/>.</param>
    /// <param name="keys">How many, 0 to 128.</param>
    /// <param name="isTied">For members: two cords and a knot. Else free: a thumb notch.</param>
    public static string Of(Keyprint print, PrintPaint paint, int width, int keys, bool isTied)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(width, Narrowest);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(width, Widest);
        var (height, file, middle) = (HeightOf(keys), FileHeightOf(keys), width / 2d);
        var svg = new StringBuilder($"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {file}\" width=\"{width}\" height=\"{file}\">");
        var notch = isTied ? "" : $"H{SvgNumbers.Of(middle - NotchRadius)}A{NotchRadius} {NotchRadius} 0 0 0 {SvgNumbers.Of(middle + NotchRadius)} 0.5";
        svg.Append($"<path fill=\"{paint.Ground}\" stroke=\"{Edge}\" d=\"M0.5 0.5{notch}H{SvgNumbers.Of(width - 0.5)}V{height}H0.5z\"/>");
        if (isTied)
            WriteCords(svg, paint, width);
        // A picture of its own, because it cuts off what leans out of the box.
        svg.Append($"<svg x=\"1\" y=\"{height - Foot}\" width=\"{width - 2}\" height=\"{Foot}\" viewBox=\"0 0 {width - 2} {Foot}\">");
        new ReedStand(print, new StandPlace(3, width - 5, Foot, Foot)).WriteReeds(svg, paint);
        svg.Append("</svg>");
        new ReedStand(print, new StandPlace(4, width - 4, 0, 0)).WriteTakes(svg, Edge, height + Board + 4, file, row: 4);
        return svg.Append("</svg>\n").ToString();
    }

    private static void WriteCords(StringBuilder svg, PrintPaint paint, int width)
    {
        var middle = SvgNumbers.Of(width / 2d);
        svg.Append($"<path fill=\"none\" stroke=\"{paint.Ink}\" stroke-width=\"3\" d=\"M1 22H{width - 1}M1 31H{width - 1}M{middle} 26l-9 -11M{middle} 26l9 -11\"/>");
        svg.Append($"<circle fill=\"{paint.Ink}\" cx=\"{middle}\" cy=\"26.5\" r=\"6\"/>");
    }
}
