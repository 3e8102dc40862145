using System.Text;

namespace LibraryShelf.Packaging.Keyprints;

/// <summary>
/// Draws a box's spine as it lies in a pile on a narrow screen: the longer, the more keys it has, with its reeds growing from the left. The title is no part of it: that
/// stays text. Drawn like <see cref="SpineDrawing"/>: the same in, the same bytes out.
/// </summary>
public static class PileDrawing
{
    private const int Foot = 80, NotchRadius = 12;

    /// <summary>From left to right, px.</summary>
    public static int LengthOf(int keys) => Math.Min(340, (int)Math.Round(232 + 1.65 * keys, MidpointRounding.AwayFromZero));

    /// <summary>From top to bottom, px, 50 to 64.</summary>
    public static int ThicknessOf(int recordings) => Math.Clamp((int)Math.Round(46 + 0.03 * recordings, MidpointRounding.AwayFromZero), 50, 64);

    /// <summary>Between the reeds and cords or notch, px: where its title goes.</summary>
    public static int TitleRoom(int keys, bool isTied) => LengthOf(keys) - Foot - 10 - (isTied ? 50 : 26);

    /// <param name="print">Its reeds; may have none.</param>
    /// <param name="paint">Its colours.</param>
    /// <param name="keys">How many, 0 to 128.</param>
    /// <param name="recordings">How many.</param>
    /// <param name="isTied">For members: two cords and a knot. Else free: a thumb notch.</param>
    public static string Of(Keyprint print, PrintPaint paint, int keys, int recordings, bool isTied)
    {
        var (length, thickness) = (LengthOf(keys), ThicknessOf(recordings));
        var middle = thickness / 2d;
        var svg = new StringBuilder($"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {length} {thickness}\" width=\"{length}\" height=\"{thickness}\">");
        var right = SvgNumbers.Of(length - 0.5);
        var notch = isTied ? "" : $"V{SvgNumbers.Of(middle - NotchRadius)}A{NotchRadius} {NotchRadius} 0 0 0 {right} {SvgNumbers.Of(middle + NotchRadius)}";
        svg.Append($"<path fill=\"{paint.Ground}\" stroke=\"{SpineDrawing.Edge}\" d=\"M0.5 0.5H{right}{notch}V{SvgNumbers.Of(thickness - 0.5)}H0.5z\"/>");
        if (isTied)
        {
            svg.Append($"<path fill=\"none\" stroke=\"{paint.Ink}\" stroke-width=\"3\" d=\"M{length - 22} 1V{thickness - 1}M{length - 31} 1V{thickness - 1}M{length - 26} {SvgNumbers.Of(middle)}l15 -9M{length - 26} {SvgNumbers.Of(middle)}l15 9\"/>");
            svg.Append($"<circle fill=\"{paint.Ink}\" cx=\"{SvgNumbers.Of(length - 26.5)}\" cy=\"{SvgNumbers.Of(middle)}\" r=\"6\"/>");
        }
        // Laid on its side: what grew up grows to the right, and low keys are on top. A picture of its own cuts off what leans out of the box.
        svg.Append($"<svg x=\"1\" y=\"1\" width=\"{Foot}\" height=\"{thickness - 2}\" viewBox=\"0 0 {Foot} {thickness - 2}\"><g transform=\"matrix(0 1 -1 0 {Foot} 0)\">");
        new ReedStand(print, new StandPlace(2, thickness - 4, Foot, Foot)).WriteReeds(svg, paint);
        return svg.Append("</g></svg></svg>\n").ToString();
    }
}
