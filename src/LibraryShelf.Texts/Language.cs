using System.Globalization;
using System.Text.Json;

namespace LibraryShelf.Texts;

/// <summary>
/// A language, read from a file of UTF-8 JSON: "language" (an IETF tag), "plurals" (CLDR's rules by category), "months", "shortMonths", "days" (each in the calendar's order, the
/// week from Sunday), "decimal" and "thousands" (signs), and "texts": by the English key a sentence, or one for each plural category, with "by" naming the hole that counts.
/// docs/texts.md tells how to make one.
/// </summary>
public sealed class Language
{
    private readonly Dictionary<string, Wording> _texts = new(StringComparer.Ordinal);

    private Language(string tag, PluralRules plurals, CultureInfo culture) => (Tag, Plurals, Culture) = (tag, plurals, culture);

    public string Tag { get; }
    public PluralRules Plurals { get; }
    public CultureInfo Culture { get; }
    public int Count => _texts.Count;

    internal IEnumerable<KeyValuePair<string, Wording>> Texts => _texts;

    internal Wording? Find(string key) => _texts.GetValueOrDefault(key);

    /// <exception cref="FormatException">It is no such file; the message says what is wrong in it.</exception>
    public static Language Read(Stream file)
    {
        try
        {
            using var document = JsonDocument.Parse(file, new JsonDocumentOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
            return Read(document.RootElement);
        }
        catch (JsonException damaged)
        {
            throw new FormatException($"It is no JSON: {damaged.Message}", damaged);
        }
        catch (InvalidOperationException wrong)
        {
            throw new FormatException($"Something in it has another form than it must have: {wrong.Message}", wrong);
        }
    }

    private static Language Read(JsonElement root)
    {
        if (root.ValueKind != JsonValueKind.Object || !root.TryGetProperty("language", out var tag) || tag.GetString() is not { Length: > 0 } name)
            throw new FormatException("It has no “language”, such as \"de\".");
        if (!IsTag(name))
            throw new FormatException($"“language” is “{name}”, which is no language tag, such as \"de\".");
        var rules = root.TryGetProperty("plurals", out var plurals) ? plurals.EnumerateObject().Select(p => KeyValuePair.Create(p.Name, p.Value.GetString() ?? "")) : [];
        var language = new Language(name, new PluralRules(rules), CultureOf(root));
        if (root.TryGetProperty("texts", out var texts))
            foreach (var text in texts.EnumerateObject())
                if (language.WordingOf(text) is { } wording)
                    language._texts[text.Name] = Checked(text.Name, wording);
        return language;
    }

    /// <returns>Null: not translated yet, or not all of its forms, so English stays.</returns>
    /// <exception cref="FormatException">Forms without "other", twice the same, or one that no rule names; no number in "by".</exception>
    private Wording? WordingOf(JsonProperty text)
    {
        if (text.Value.ValueKind == JsonValueKind.String)
            return text.Value.GetString() is { Length: > 0 } one ? new Wording(this, new Dictionary<string, string>(StringComparer.Ordinal) { [Wording.Other] = one }, null) : null;
        int? by = null;
        var forms = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var form in text.Value.EnumerateObject())
        {
            if (form.Name == "by")
                by = form.Value.ValueKind == JsonValueKind.Number && form.Value.TryGetInt32(out var hole) && hole >= 0 ? hole
                    : throw new FormatException($"“by” of “{text.Name}” is not the number of a hole, such as 1.");
            else if (!forms.TryAdd(form.Name, form.Value.GetString() ?? ""))
                throw new FormatException($"“{text.Name}” has the form “{form.Name}” twice.");
        }
        if (forms.Values.Any(f => f.Length == 0))
            return null;
        if (!forms.ContainsKey(Wording.Other))
            throw new FormatException($"“{text.Name}” has no form “other”.");
        return forms.Keys.FirstOrDefault(category => !Plurals.Has(category)) is { } unknown
            ? throw new FormatException($"“{text.Name}” has a form “{unknown}”, which no rule of “plurals” names.")
            : new Wording(this, forms, by);
    }

    /// <exception cref="FormatException">It has a hole that its key has not, which nothing would fill.</exception>
    private static Wording Checked(string key, Wording wording)
    {
        var holes = Wording.HolesOf(key);
        foreach (var hole in wording.Forms.Values.SelectMany(Wording.HolesOf).Where(h => !holes.Contains(h)))
            throw new FormatException($"“{key}” has no hole {{{hole}}}, but its text in this language has one.");
        return wording.By is { } by && !holes.Contains(by) ? throw new FormatException($"“by” of “{key}” names the hole {{{by}}}, which it has not.") : wording;
    }

    /// <summary>As much of a tag's form (RFC 5646, 2.1) as pages and file names need.</summary>
    private static bool IsTag(string name) => name.Split('-') is [var first, .. var rest] && first.Length is >= 2 and <= 8 && first.All(char.IsAsciiLetter)
        && rest.All(part => part.Length is >= 1 and <= 8 && part.All(char.IsAsciiLetterOrDigit));

    private static CultureInfo CultureOf(JsonElement root)
    {
        var culture = (CultureInfo)CultureInfo.InvariantCulture.Clone();
        // A thirteenth month stands in every calendar's list, empty in this one.
        if (Names(root, "months", 12) is { } months)
            culture.DateTimeFormat.MonthNames = culture.DateTimeFormat.MonthGenitiveNames = [.. months, ""];
        if (Names(root, "shortMonths", 12) is { } shortMonths)
            culture.DateTimeFormat.AbbreviatedMonthNames = culture.DateTimeFormat.AbbreviatedMonthGenitiveNames = [.. shortMonths, ""];
        if (Names(root, "days", 7) is { } days)
            culture.DateTimeFormat.DayNames = days;
        if (root.TryGetProperty("decimal", out var point) && point.GetString() is { Length: > 0 } pointSign)
            culture.NumberFormat.NumberDecimalSeparator = pointSign;
        if (root.TryGetProperty("thousands", out var thousands) && thousands.GetString() is { Length: > 0 } thousandsSign)
            culture.NumberFormat.NumberGroupSeparator = thousandsSign;
        return CultureInfo.ReadOnly(culture);
    }

    private static string[]? Names(JsonElement root, string name, int count)
    {
        if (!root.TryGetProperty(name, out var list))
            return null;
        string[] names = [.. list.EnumerateArray().Select(n => n.GetString() ?? "")];
        if (names.Length == 0)
            return null;
        return names.Length == count && names.All(n => n.Length > 0) ? names : throw new FormatException($"“{name}” must have {count} names.");
    }
}
