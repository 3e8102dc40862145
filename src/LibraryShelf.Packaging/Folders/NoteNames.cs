using System.Globalization;
using System.Text.RegularExpressions;

namespace LibraryShelf.Packaging.Folders;

/// <summary>MIDI note numbers 0 to 127 and their names, with C4 = 60 (middle C is 60 in MIDI 1.0; the octave label is a convention).</summary>
public static partial class NoteNames
{
    private static readonly string[] Sharps = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
    private static readonly Dictionary<char, int> Letters = new() { ['C'] = 0, ['D'] = 2, ['E'] = 4, ['F'] = 5, ['G'] = 7, ['A'] = 9, ['B'] = 11 };

    /// <summary>The name with a sharp where one is needed, such as A#3. <paramref name="note"/> is 0 to 127.</summary>
    public static string Name(int note) => Name(note, middleCOctave: 4);

    internal static string Name(int note, int middleCOctave)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(note);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(note, 127);
        return string.Create(CultureInfo.InvariantCulture, $"{Sharps[note % 12]}{note / 12 - 5 + middleCOctave}");
    }

    /// <summary>Reads A#3, Bb2, c-1, F♯4 or e♭5 (either case, one accidental); false outside C-1 to G9.</summary>
    public static bool TryParse(string text, out int note)
    {
        ArgumentNullException.ThrowIfNull(text);
        var match = WholeName().Match(text);
        note = match.Success ? NumberOf(match) : -1;
        return note is >= 0 and <= 127;
    }

    /// <summary>
    /// The note that a file's name gives, such as 58 for "soft/Jar A#3 take 2.wav" or "Jar_As3.wav" (s for sharp, because # is
    /// awkward in addresses) or "A3v10.wav" (v and a loudness layer); null when it gives none or two different ones. The name must stand apart from other letters and digits.
    /// </summary>
    public static int? FromFileName(string path) => FromFileName(path, middleCOctave: 4);

    internal static int? FromFileName(string path, int middleCOctave)
    {
        var name = Path.GetFileNameWithoutExtension(path);
        var found = NameInText().Matches(name).Select(m => NumberOf(m) + 12 * (4 - middleCOctave)).Where(n => n is >= 0 and <= 127).Distinct().Take(2).ToList();
        return found.Count == 1 ? found[0] : null;
    }

    private static int NumberOf(Match match)
    {
        var accidental = match.Groups["accidental"].Value switch
        {
            "#" or "♯" or "s" => 1,
            "b" or "♭" => -1,
            _ => 0,
        };
        var octave = int.Parse(match.Groups["octave"].Value, CultureInfo.InvariantCulture);
        return 12 * (octave + 1) + Letters[char.ToUpperInvariant(match.Groups["letter"].Value[0])] + accidental;
    }

    [GeneratedRegex(@"\A(?<letter>[A-Ga-g])(?<accidental>[#♯b♭]?)(?<octave>-1|[0-9])\z", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex WholeName();

    [GeneratedRegex(@"(?<![\p{L}0-9])(?<letter>[A-Ga-g])(?<accidental>[#♯b♭s]?)(?<octave>-[12]|[0-9])(?=v[0-9]|[^\p{L}0-9]|\z)", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex NameInText();
}
