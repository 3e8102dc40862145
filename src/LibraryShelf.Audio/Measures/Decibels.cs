namespace LibraryShelf.Audio.Measures;

/// <summary>Levels relative to full scale; never infinite: nothing is null.</summary>
internal static class Decibels
{
    public static double? OfMagnitude(double magnitude) => magnitude > 0 ? 20 * Math.Log10(magnitude) : null;

    /// <param name="power">A mean of squares.</param>
    public static double? OfPower(double power) => power > 0 ? 10 * Math.Log10(power) : null;
}
