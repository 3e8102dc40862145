using System.Globalization;

namespace LibraryShelf.Texts;

/// <summary>
/// What people read, in the shop's language. English stands where it is said, T("Nothing was written yet."), and is the key under which a language's file has
/// its own words; what has no words there stays English. One program speaks one language, chosen at its start.
/// </summary>
public static class Say
{
    /// <summary>Null: English.</summary>
    internal static Language? Spoken { get; private set; }

    /// <summary>An IETF language tag (BCP 47), for the lang attribute.</summary>
    public static string Tag => Spoken?.Tag ?? "en";

    /// <summary>How numbers, months and days of the week are written for people.</summary>
    public static CultureInfo Culture => Spoken?.Culture ?? CultureInfo.InvariantCulture;

    /// <summary>Once, before anything is said. Null: English.</summary>
    public static void Speak(Language? language) => Spoken = language;

    /// <param name="text">English, as it stands in the code: a literal, so that it can be found there.</param>
    public static string T(string text) => Spoken?.Find(text)?.Fill([]) ?? text;

    /// <summary>A sentence with holes; its key has them numbered: "{0} mails wait". Write one sentence, not the halves of one: languages order words otherwise.</summary>
    public static string T(TextHandler text) => text.ToText();

    /// <summary>The noun for so many of something: one or many in English, more forms elsewhere. Its key is the English one.</summary>
    public static string Noun(long count, string one, string many) => Spoken?.Find(one)?.Form(count) ?? (count == 1 ? one : many);

    /// <summary>"3 recordings": the number and its noun.</summary>
    public static Counted Count(long count, string one, string many) => new(count, $"{count.ToString(Culture)} {Noun(count, one, many)}");

    /// <summary>All forms of a noun by plural category, for where the number is known only later: in a browser.</summary>
    public static IReadOnlyDictionary<string, string> Nouns(string one, string many) =>
        Spoken?.Find(one)?.Forms ?? new Dictionary<string, string>(StringComparer.Ordinal) { ["one"] = one, [Wording.Other] = many };
}
