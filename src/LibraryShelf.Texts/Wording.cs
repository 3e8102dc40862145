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

    /// <summary>What is more, or no number, counts as nothing: whole numbers of a double are whole up to here (2^53).</summary>
    private const double MostCounted = 9_007_199_254_740_992;

    /// <summary>The form for so many, its holes as they are.</summary>
    public string Form(decimal count) => Forms.TryGetValue(Language.Plurals.CategoryOf(count), out var form) ? form : Forms[Other];

    public string Fill(IReadOnlyList<string> words, IReadOnlyList<object?>? values = null) => Fill(Forms.Count == 1 ? Forms[Other] : Form(CountOf(values ?? [])), words);

    /// <summary>"{0}" is the first hole; "{{" and "}}" are braces. A hole that the English text has not, stays empty.</summary>
    public static string Fill(string sentence, IReadOnlyList<string> words)
    {
        var text = new StringBuilder(sentence.Length + 32);
        for (var i = 0; i < sentence.Length; i++)
        {
            var c = sentence[i];
            var end = c == '{' ? sentence.IndexOf('}', i) : -1;
            if ((c is '{' or '}') && i + 1 < sentence.Length && sentence[i + 1] == c)
                text.Append(sentence[i++]);
            else if (end > 0 && int.TryParse(sentence.AsSpan(i + 1, end - i - 1), NumberStyles.None, CultureInfo.InvariantCulture, out var hole))
            {
                text.Append(hole < words.Count ? words[hole] : "");
                i = end;
            }
            else
                text.Append(c);
        }
        return text.ToString();
    }

    private decimal CountOf(IReadOnlyList<object?> values)
    {
        var value = By is { } by ? by < values.Count ? values[by] : null : values.FirstOrDefault(v => v is int or long or decimal or double);
        return value switch
        {
            int number => number,
            long number => number,
            decimal number => number,
            double number when Math.Abs(number) < MostCounted => (decimal)number,
            _ => 0,
        };
    }
}
