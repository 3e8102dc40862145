using System.Globalization;
using System.Text;

namespace LibraryShelf.Packaging.Folders;

/// <summary>
/// Canonical decomposition (NFD) from a table of our own: string.Normalize does nothing when globalization is invariant, and the
/// shelf must give the same answer on every machine, with or without ICU. Unicode Standard §3.11, §3.12; Annex 15.
/// </summary>
public static class UnicodeForms
{
    private const int HangulFirst = 0xAC00, HangulCount = 11172, LeadFirst = 0x1100, VowelFirst = 0x1161, TailFirst = 0x11A7;
    private const int Vowels = 21, Tails = 28;

    private static readonly Lazy<Table> Data = new(Load);

    /// <summary>NFD of <paramref name="text"/>; half surrogate pairs become U+FFFD.</summary>
    public static string Decompose(string text)
    {
        if (Ascii.IsValid(text))
            return text;
        var runes = new List<Rune>(text.Length);
        foreach (var rune in text.EnumerateRunes())
            AddDecomposed(rune, runes);
        Reorder(runes);
        return string.Concat(runes);
    }

    /// <summary>True when a letter and a mark stand apart that have one joint character: the text is not NFC.</summary>
    public static bool IsDecomposed(string text)
    {
        if (Ascii.IsValid(text))
            return false;
        var before = default(Rune);
        foreach (var rune in text.EnumerateRunes())
        {
            if (Data.Value.Pairs.Contains((before, rune)) || IsHangulPair(before.Value, rune.Value))
                return true;
            before = rune;
        }
        return false;
    }

    private static bool IsHangulPair(int first, int second) =>
        first is >= LeadFirst and < LeadFirst + 19 && second is >= VowelFirst and < VowelFirst + Vowels;

    private static void AddDecomposed(Rune rune, List<Rune> to)
    {
        var syllable = rune.Value - HangulFirst;
        if (syllable is >= 0 and < HangulCount)
            AddHangul(syllable, to);
        else if (Data.Value.Steps.TryGetValue(rune, out var parts))
            foreach (var part in parts)
                AddDecomposed(part, to);
        else
            to.Add(rune);
    }

    private static void AddHangul(int syllable, List<Rune> to)
    {
        to.Add(new Rune(LeadFirst + syllable / (Vowels * Tails)));
        to.Add(new Rune(VowelFirst + syllable % (Vowels * Tails) / Tails));
        if (syllable % Tails != 0)
            to.Add(new Rune(TailFirst + syllable % Tails));
    }

    /// <summary>Canonical ordering: marks of different classes after one letter stand in the order of their classes.</summary>
    private static void Reorder(List<Rune> runes)
    {
        for (var i = 1; i < runes.Count; i++)
        {
            var own = ClassOf(runes[i]);
            for (var j = i; j > 0 && own != 0 && ClassOf(runes[j - 1]) > own; j--)
                (runes[j - 1], runes[j]) = (runes[j], runes[j - 1]);
        }
    }

    private static int ClassOf(Rune rune) => Data.Value.Classes.GetValueOrDefault(rune);

    private static Table Load()
    {
        var table = new Table([], [], []);
        using var stream = typeof(UnicodeForms).Assembly.GetManifestResourceStream("unicode-forms.txt")!;
        using var reader = new StreamReader(stream);
        while (reader.ReadLine() is { } line)
            table.Add(line.Split(' '));
        return table;
    }

    private sealed record Table(Dictionary<Rune, Rune[]> Steps, HashSet<(Rune, Rune)> Pairs, Dictionary<Rune, int> Classes)
    {
        public void Add(string[] cells)
        {
            if (cells[0] == "c")
                AddClasses(Code(cells[1]).Value, Code(cells[2]).Value, int.Parse(cells[3], CultureInfo.InvariantCulture));
            else if (cells[0] is "d" or "x")
                AddStep(Code(cells[1]), [.. cells[2..].Select(Code)], composes: cells[0] == "d");
        }

        private void AddStep(Rune whole, Rune[] parts, bool composes)
        {
            Steps[whole] = parts;
            if (composes)
                Pairs.Add((parts[0], parts[1]));
        }

        private void AddClasses(int from, int to, int combiningClass)
        {
            for (var code = from; code <= to; code++)
                Classes[new Rune(code)] = combiningClass;
        }

        private static Rune Code(string hex) => new(int.Parse(hex, NumberStyles.HexNumber, CultureInfo.InvariantCulture));
    }
}
