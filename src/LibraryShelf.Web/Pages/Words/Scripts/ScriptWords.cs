using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace LibraryShelf.Web.Pages.Words.Scripts;

/// <summary>
/// What scripts say is written here and given to them by their page, in the attribute data-words, where js/words.js reads it: a class for each script that begins something, by
/// key a sentence or a noun.
/// </summary>
internal static class ScriptWords
{
    private static readonly JsonSerializerOptions Plain = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>Holes that the script fills: T($"{First} of {Second}"). Another language may have them in another order.</summary>
    public static string First => "{0}";
    public static string Second => "{1}";
    public static string Third => "{2}";
    public static string Fourth => "{3}";

    /// <summary>For an attribute, which is encoded where it stands.</summary>
    public static string Json(JsonObject words) => words.ToJsonString(Plain);

    /// <summary>Its form for each plural category, of which the browser knows which goes with a number.</summary>
    public static JsonNode Noun(string one, string many) => new JsonObject(Nouns(one, many).Select(form => KeyValuePair.Create(form.Key, (JsonNode?)form.Value)));

    /// <summary>What say.size in js/words.js needs: units as <see cref="LibraryShelf.Core.Shared.DataSize"/> has them.</summary>
    public static JsonObject WithSizes(JsonObject words)
    {
        words["decimal"] = Say.Culture.NumberFormat.NumberDecimalSeparator;
        words["byte"] = ScriptWords.Noun("byte", "bytes");
        words["units"] = new JsonArray(T("kB"), T("MB"), T("GB"), T("TB"));
        return words;
    }
}
