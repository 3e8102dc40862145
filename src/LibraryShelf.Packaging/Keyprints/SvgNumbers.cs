using System.Globalization;

namespace LibraryShelf.Packaging.Keyprints;

/// <summary>Numbers as pictures write them: rounded to a tenth, "." before it, never "-0".</summary>
internal static class SvgNumbers
{
    public static string Of(double value)
    {
        var tenths = Math.Round(value, 1, MidpointRounding.AwayFromZero);
        return tenths == 0 ? "0" : tenths.ToString("0.#", CultureInfo.InvariantCulture);
    }
}
