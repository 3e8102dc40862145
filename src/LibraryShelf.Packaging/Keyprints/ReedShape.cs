namespace LibraryShelf.Packaging.Keyprints;

/// <summary>The outline of one reed, as the data of an SVG path.</summary>
internal static class ReedShape
{
    /// <summary>
    /// A cubic over equal thirds of the height is t^1.9 at t = 1/3 and 2/3 with these as its inner control points (solved from those two equations), and nowhere
    /// more than 0.005 off it.
    /// </summary>
    private const double LowBend = 0.0111, HighBend = 0.3691;

    /// <param name="x">The middle of the foot.</param>
    /// <param name="line">The waterline it stands on.</param>
    /// <param name="width">Thickness at the foot.</param>
    /// <param name="height">Up from the line.</param>
    /// <param name="lean">How far right of the foot the tip is.</param>
    /// <param name="foot">The share of its thickness that the foot has, 0 to 1: narrow is a slow start.</param>
    /// <param name="isFlat">It keeps its thickness to the top: it does not die away.</param>
    public static string Of(double x, double line, double width, double height, double lean, double foot, bool isFlat)
    {
        var half = width / 2;
        double[] middles = [x, x + LowBend * lean, x + HighBend * lean, x + lean];
        double[] ups = [line, line - height / 3, line - 2 * height / 3, line - height];
        // Linear to a pointed tip; what a narrow foot lacks, the belly above it has.
        double[] halves = isFlat ? [half * foot, half, half, half] : [half * foot, half * (2 / 3d + 0.45 * (1 - foot)), half * (1 / 3d + 0.2 * (1 - foot)), 0];
        string At(int i, int side) => $"{SvgNumbers.Of(middles[i] + side * halves[i])} {SvgNumbers.Of(ups[i])}";
        var top = isFlat ? $"L{At(3, 1)}" : "";
        return $"M{At(0, -1)}C{At(1, -1)} {At(2, -1)} {At(3, -1)}{top}C{At(2, 1)} {At(1, 1)} {At(0, 1)}z";
    }
}
