using System.Reflection;
using System.Text;

namespace LibraryShelf.Core.Accounts;

/// <summary>
/// Terms, privacy and licence texts a new shop may start from, in Markdown. Each opens by saying that it is no legal advice.
/// {shop}, {contact} and {address} stand for what the maker enters and are filled in when the shelf is claimed.
/// </summary>
public sealed record StartingTexts(string Terms, string Privacy, string Licence)
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
