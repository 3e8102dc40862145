using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace LibraryShelf.Language.Tests;

/// <summary>
/// A language made of English: each letter of every text of the template has an acute accent behind it (U+0301), so whatever was said can be told from what was not. Tags, entities
/// and the numbers of holes stay as they are.
/// </summary>
internal static partial class MarkedLanguage
{
    public const string Tag = "en-x-marked";
    public const char Mark = '\u0301';

    /// <summary>Writes its file beside the program, where the shelf looks for languages.</summary>
    public static void Write()
    {
        var folder = Directory.CreateDirectory(Path.Combine(AppContext.BaseDirectory, "languages")).FullName;
        var template = JsonNode.Parse(File.ReadAllText(Path.Combine(folder, "template.json")))!.AsObject();
        var texts = new JsonObject();
        foreach (var (key, value) in template["texts"]!.AsObject())
            texts[key] = value is JsonObject ? new JsonObject { ["one"] = Marked(key), ["other"] = Marked(key + "s") } : Marked(key);
        var language = new JsonObject { ["language"] = Tag, ["plurals"] = new JsonObject { ["one"] = "i = 1 and v = 0" }, ["months"] = Names("MMMM"), ["shortMonths"] = Names("MMM"), ["days"] = Days(), ["texts"] = texts };
        File.WriteAllText(Path.Combine(folder, Tag + ".json"), language.ToJsonString(new JsonSerializerOptions { WriteIndented = false }));
    }

    private static JsonArray Names(string format) => [.. Enumerable.Range(1, 12).Select(m => (JsonNode)Marked(new DateOnly(2026, m, 1).ToString(format, System.Globalization.CultureInfo.InvariantCulture)))];

    private static JsonArray Days() => [.. System.Globalization.CultureInfo.InvariantCulture.DateTimeFormat.DayNames.Select(d => (JsonNode)Marked(d))];

    private static string Marked(string text)
    {
        // How days are written is a text too, in letters that stand for the day's parts; those between ' stand for themselves.
        return DayPattern().IsMatch(text) ? Quoted().Replace(text, q => Lettered(q.Value)) : Lettered(text);
    }

    private static string Lettered(string text)
    {
        var marked = new StringBuilder(text.Length * 2);
        var from = 0;
        foreach (Match kept in Kept().Matches(text))
        {
            Add(text[from..kept.Index]);
            marked.Append(kept.Value);
            from = kept.Index + kept.Length;
        }
        Add(text[from..]);
        return marked.ToString();

        void Add(string words)
        {
            foreach (var c in words)
            {
                marked.Append(c);
                if (char.IsAsciiLetter(c))
                    marked.Append(Mark);
            }
        }
    }

    [GeneratedRegex("^(?=.*(MMM|uuuu|HH|H:mm))([dMuyHms]+|'[^']*'|[ ,.:-])+$")]
    private static partial Regex DayPattern();

    [GeneratedRegex("'[^']*'")]
    private static partial Regex Quoted();

    [GeneratedRegex("<[a-z/][^<>]*>|&#?[A-Za-z0-9]+;|\\{\\d+\\}")]
    private static partial Regex Kept();
}
