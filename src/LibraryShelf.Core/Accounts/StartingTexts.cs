using System.Reflection;
using System.Text;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Accounts;

/// <summary>
/// Terms, privacy and licence texts a new shop may start from, in Markdown. Visitors read them, so that they are no legal advice is said to the maker: where she
/// edits them, and at the workbench while they are <see cref="Untouched"/>.
/// {shop}, {contact} and {address} stand for what the maker enters and are filled in when the shelf is claimed.
/// </summary>
public sealed partial record StartingTexts(string Terms, string Privacy, string Licence)
{
    public static StartingTexts English { get; } = new(BuiltIn("terms"), BuiltIn("privacy"), BuiltIn("licence"));

    /// <summary>Those of the shop's language.</summary>
    public static StartingTexts Spoken { get; private set; } = English;

    /// <summary>Once, with <see cref="Say.Speak"/>.</summary>
    public static void Speak(StartingTexts texts) => Spoken = texts;

    /// <summary>terms.md, privacy.md and licence.md of a folder, UTF-8; one that is not there, or empty, is not done yet and stays English.</summary>
    /// <exception cref="FormatException">One is no text, or longer than a shop may keep; the message says which.</exception>
    /// <exception cref="IOException">One can't be read.</exception>
    /// <exception cref="UnauthorizedAccessException">The same.</exception>
    public static StartingTexts Read(string folder)
    {
        return new(Text("terms", English.Terms), Text("privacy", English.Privacy), Text("licence", English.Licence));

        string Text(string name, string english)
        {
            var path = Path.Combine(folder, name + ".md");
            return File.Exists(path) && ReadOne(path) is { Length: > 0 } text ? text : english;
        }
    }

    internal static string Fill(string text, string shop, string contact, string address) => text
        .Replace("\r\n", "\n", StringComparison.Ordinal)
        .Replace("{shop}", shop, StringComparison.Ordinal)
        .Replace("{contact}", contact, StringComparison.Ordinal)
        .Replace("{address}", address, StringComparison.Ordinal);

    /// <summary>Which of a shop's texts nobody has changed since it was claimed: names of fields of <see cref="ShopForm"/>, in their order.</summary>
    public static IReadOnlyList<string> Untouched(ShopTexts texts)
    {
        ArgumentNullException.ThrowIfNull(texts);
        return [.. Each().Where(t => new[] { Spoken, English }.Any(s => IsFilled(t.Text, t.Of(s)))).Select(t => t.Field)];

        IEnumerable<(string Field, string Text, Func<StartingTexts, string> Of)> Each() =>
            [(nameof(ShopForm.Terms), texts.Terms, s => s.Terms), (nameof(ShopForm.Privacy), texts.Privacy, s => s.Privacy), (nameof(ShopForm.Licence), texts.Licence, s => s.Licence)];
    }

    /// <summary>What the licence comes to that shops begin with, as <see cref="Licence.Plain"/> says it of others; null when this is another text, be it by a word.</summary>
    public static string? Plain(string licence)
    {
        ArgumentNullException.ThrowIfNull(licence);
        return new[] { Spoken, English }.Any(s => IsFilled(licence, s.Licence))
            ? T("You may use the recordings in your music and sound work, also for money, and change them for it, without asking. You may not pass them on as recordings, nor as sounds that others make music with.")
            : null;
    }

    /// <summary>Whatever stood in the holes: the shop may have another name or address by now.</summary>
    private static bool IsFilled(string text, string starting)
    {
        var (said, parts) = (text.ReplaceLineEndings("\n").Trim(), Hole().Split(starting.ReplaceLineEndings("\n").Trim()));
        if (parts is [var all])
            return said == all;
        if (!said.StartsWith(parts[0], StringComparison.Ordinal) || !said.EndsWith(parts[^1], StringComparison.Ordinal))
            return false;
        var at = parts[0].Length;
        foreach (var part in parts[1..^1])
        {
            if (said.IndexOf(part, at, StringComparison.Ordinal) is var found && found < 0)
                return false;
            at = found + part.Length;
        }
        return at <= said.Length - parts[^1].Length;
    }

    [GeneratedRegex(@"\{(?:shop|contact|address)\}", RegexOptions.None, 1000)]
    private static partial Regex Hole();

    private static string ReadOne(string path)
    {
        try
        {
            using var reader = new StreamReader(path, new UTF8Encoding(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true), detectEncodingFromByteOrderMarks: false);
            var text = reader.ReadToEnd().TrimStart('\uFEFF');
            if (text.Length > ShopForm.LongestText)
                throw new FormatException($"{Path.GetFileName(path)} is too long: it has {text.Length} characters, and at most {ShopForm.LongestText} can be kept.");
            return string.IsNullOrWhiteSpace(text) ? "" : text;
        }
        catch (DecoderFallbackException noText)
        {
            throw new FormatException($"{Path.GetFileName(path)} is not in UTF-8.", noText);
        }
    }

    private static string BuiltIn(string name)
    {
        var resource = $"{typeof(StartingTexts).FullName}.{name}.md";
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(resource)
            ?? throw new InvalidOperationException($"The starting text {resource} is not built in.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }
}
