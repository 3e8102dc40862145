namespace LibraryShelf.Web.Pages.Words;

/// <summary>Names of keys.</summary>
internal static class Notes
{
    private static readonly string[] Names = ["C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B"];

    /// <summary>"C4" for MIDI note 60, "F♯3" for 54, "A0" for 21; <paramref name="midi"/> is 0 to 127.</summary>
    public static string Name(int midi) => Name(midi, middleCOctave: 4);

    /// <summary>The same where middle C (60) is called C3 or C4.</summary>
    public static string Name(int midi, int middleCOctave)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(midi, 0);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(midi, 127);
        return $"{Names[midi % 12]}{midi / 12 - 5 + middleCOctave}";
    }

    /// <summary>"C4 to C6"; one name when both are the same; empty when nothing is mapped.</summary>
    public static string Range(int? lowest, int? highest) => (lowest, highest) switch
    {
        ({ } low, { } high) when low == high => Name(low),
        ({ } low, { } high) => T($"{Name(low)} to {Name(high)}"),
        _ => "",
    };
}
