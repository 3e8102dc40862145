using System.Globalization;
using System.Text;

namespace LibraryShelf.Web.Pages.Shared;

/// <summary>
/// The keyboard every page is measured against: 88 equal columns, a semitone each, from A0 (MIDI note 21) to C8 (108).
/// Accidentals stand in the upper row; a natural reaches half under its accidentals.
/// </summary>
internal static class KeyRuler
{
    public const int Lowest = 21;
    public const int Highest = 108;
    public const int Columns = Highest - Lowest + 1;

    public static bool IsAccidental(int key) => (key % 12) is 1 or 3 or 6 or 8 or 10;

    /// <summary>The nearest key of the ruler.</summary>
    public static int Within(int key) => Math.Clamp(key, Lowest, Highest);

    /// <summary>Left edge and width in columns of <paramref name="key"/> (21 to 108).</summary>
    public static (double Left, double Width) Place(int key)
    {
        double left = key - Lowest;
        var right = left + 1;
        if (IsAccidental(key))
            return (left, 1);
        if (key > Lowest && IsAccidental(key - 1))
            left -= 0.5;
        if (key < Highest && IsAccidental(key + 1))
            right += 0.5;
        return (left, right - left);
    }

    /// <summary>One SVG path of the chosen keys as rectangles, <paramref name="scale"/> units a column, <paramref name="gap"/> units clear on either side.</summary>
    public static string Path(Func<int, bool> which, double scale, double gap, double top, double height)
    {
        var path = new StringBuilder();
        for (var key = Lowest; key <= Highest; key++)
        {
            if (!which(key))
                continue;
            var (left, width) = Place(key);
            path.Append(CultureInfo.InvariantCulture, $"M{left * scale + gap:0.##} {top:0.##}h{width * scale - 2 * gap:0.##}v{height:0.##}h-{width * scale - 2 * gap:0.##}z");
        }
        return path.ToString();
    }
}
