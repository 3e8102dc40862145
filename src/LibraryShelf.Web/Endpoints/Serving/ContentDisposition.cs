using System.Globalization;
using System.Text;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>
/// The Content-Disposition of a file to keep (RFC 6266), for any name. Clients that read <c>filename*</c> get the name as it
/// is; for older ones <c>filename</c> has it in plain letters.
/// </summary>
internal static class ContentDisposition
{
    /// <summary>attr-char of RFC 8187 §3.2.1 beside letters and digits.</summary>
    private const string AttrChars = "!#$&+-.^_`|~";

    private static readonly Dictionary<char, string> Plain = new()
    {
        ['€'] = "EURO", ['£'] = "GBP", ['ß'] = "ss", ['æ'] = "ae", ['Æ'] = "AE", ['ø'] = "o", ['Ø'] = "O", ['œ'] = "oe", ['Œ'] = "OE",
        ['ł'] = "l", ['Ł'] = "L", ['đ'] = "d", ['Đ'] = "D", ['ð'] = "d", ['þ'] = "th", ['ı'] = "i",
        ['‘'] = "'", ['’'] = "'", ['“'] = "'", ['”'] = "'", ['–'] = "-", ['—'] = "-", ['…'] = "...",
    };

    public static string Attachment(string fileName) => Of("attachment", fileName);

    /// <summary>Shown or played where it is asked for; the name is for who keeps it.</summary>
    public static string Inline(string fileName) => Of("inline", fileName);

    private static string Of(string how, string fileName)
    {
        var plain = ToPlain(fileName);
        var quoted = $"{how}; filename=\"{plain.Replace("\\", "\\\\", StringComparison.Ordinal).Replace("\"", "\\\"", StringComparison.Ordinal)}\"";
        // A percent sign in the plain form is decoded by some clients (RFC 6266, appendix D), so the other form is added then too.
        return plain == fileName && !plain.AsSpan().ContainsAny("\"\\%") ? quoted : quoted + "; filename*=UTF-8''" + Encode(fileName);
    }

    /// <summary>ext-value's value-chars (RFC 8187 §3.2.1): UTF-8, percent-encoded but for attr-char.</summary>
    internal static string Encode(string value)
    {
        var text = new StringBuilder();
        foreach (var b in Encoding.UTF8.GetBytes(value))
        {
            if (char.IsAsciiLetterOrDigit((char)b) || AttrChars.Contains((char)b, StringComparison.Ordinal)) text.Append((char)b);
            else text.Append(CultureInfo.InvariantCulture, $"%{b:X2}");
        }
        return text.ToString();
    }

    /// <summary>Printable US-ASCII: marks fall off their letters, a few signs are spelt out, what is left becomes an underscore.</summary>
    internal static string ToPlain(string name)
    {
        var text = new StringBuilder();
        foreach (var rune in name.EnumerateRunes())
        {
            if (rune.IsAscii) text.Append(Rune.IsControl(rune) ? '_' : (char)rune.Value);
            else if (rune.IsBmp && Plain.TryGetValue((char)rune.Value, out var spelt)) text.Append(spelt);
            else text.Append(Undressed(rune));
        }
        return text.ToString();
    }

    private static string Undressed(Rune rune)
    {
        if (Rune.GetUnicodeCategory(rune) == UnicodeCategory.NonSpacingMark) return "";
        var letters = string.Concat(UnicodeForms.Decompose(rune.ToString()).Where(char.IsAscii));
        return letters.Length > 0 ? letters : "_";
    }
}
