using System.Globalization;
using System.Text;

namespace LibraryShelf.Texts;

/// <summary>What a language's file has for one key: a sentence, or one for each of its plural categories.</summary>
/// <param name="Language">Whose it is.</param>
/// <param name="Forms">By plural category (CLDR's names); a sentence without forms stands as "other".</param>
/// <param name="By">The number of the hole whose number chooses; null: the first hole with a number in it.</param>
public sealed record Wording(Language Language, IReadOnlyDictionary<string, string> Forms, int? By)
{
    public const string Other = "other";

    /// <summary>What is more, or a double that is no number, counts as nothing: whole numbers of a double are whole up to here (2^53).</summary>
    private const double MostCounted = 9_007_199_254_740_992;

    /// <summary>The form for so many, its holes as they are.</summary>
    public string Form(decimal count) => Forms.TryGetValue(Language.Plurals.CategoryOf(count), out var form) ? form : Forms[Other];

    public string Fill(IReadOnlyList<string> words, IReadOnlyList<object?>? values = null) => Fill(Forms.Count > 1 && CountOf(values ?? []) is { } count ? Form(count) : Forms[Other], words);

    /// <summary>"{0}" is the first hole; "{{" and "}}" are braces. A hole that is filled with nothing stays empty.</summary>
    public static string Fill(string sentence, IReadOnlyList<string> words)
    {
        var text = new StringBuilder(sentence.Length + 32);
        Read(sentence, c => text.Append(c), hole => text.Append(hole < words.Count ? words[hole] : ""));
        return text.ToString();
    }

    private static void Read(string sentence, Action<char> letter, Action<int> hole)
    {
        for (var i = 0; i < sentence.Length; i++)
        {
            var c = sentence[i];
            var end = c == '{' ? sentence.IndexOf('}', i) : -1;
            if ((c is '{' or '}') && i + 1 < sentence.Length && sentence[i + 1] == c)
                letter(sentence[i++]);
            else if (end > 0 && int.TryParse(sentence.AsSpan(i + 1, end - i - 1), NumberStyles.None, CultureInfo.InvariantCulture, out var number))
            {
                hole(number);
                i = end;
            }
            else
                letter(c);
        }
    }

    /// <summary>The numbers of the holes in a sentence, or a key.</summary>
    internal static HashSet<int> HolesOf(string sentence)
    {
        var holes = new HashSet<int>();
        Read(sentence, _ => { }, hole => holes.Add(hole));
        return holes;
    }

    /// <summary>Null: there is no number among the holes, or the one that is to choose has none.</summary>
    private decimal? CountOf(IReadOnlyList<object?> values)
    {
        var value = By is { } by ? by < values.Count ? values[by] : null : values.FirstOrDefault(v => v is int or long or decimal or double or Counted);
        return value switch
        {
            int number => number,
            long number => number,
            Counted counted => counted.Count,
            decimal number => number,
            double number when Math.Abs(number) < MostCounted => (decimal)number,
            double => 0,
            _ => null,
        };
    }
}
