using System.Globalization;
using System.Text;

namespace LibraryShelf.Core.Tests.Downloads;

/// <summary>
/// Every way we know of to alter a link, one after the other, with random places from a seed. None gives a link that was made:
/// what happens to come out as one is altered again.
/// </summary>
/// <param name="genuine">Links as they were made, path and query; several, so that pieces can be moved between them.</param>
/// <param name="seed">The same seed makes the same alterations.</param>
internal sealed class LinkAlterations(IReadOnlyList<string> genuine, int seed)
{
    private readonly Random _random = new(seed);
    private int _next;

    /// <summary>How many kinds there are.</summary>
    public int Kinds => All.Length;

    public (string Kind, string Text) Next()
    {
        while (true)
        {
            var (kind, alter) = All[_next++ % All.Length];
            var text = alter(this, genuine[_random.Next(genuine.Count)]);
            // Now and then a second one on top, if the first left anything to alter.
            if (_random.Next(8) == 0 && text.Length > 1) text = All[_random.Next(All.Length)].Alter(this, text);
            if (!genuine.Contains(text)) return (kind, text);
            _next--;
        }
    }

    private static readonly (string Kind, Func<LinkAlterations, string, string> Alter)[] All =
    [
        ("one bit", (a, s) => a.At(s, c => ((char)(c ^ (1 << a._random.Next(7)))).ToString())),
        ("one character", (a, s) => a.At(s, _ => a.Pick("aZ09-_%&=?/.+ ~üé鍵\u0301"))),
        ("a character more", (a, s) => a.At(s, c => c + a.Pick("aZ09-_%&=?/.+ \t\0\n~"))),
        ("a character less", (a, s) => a.At(s, _ => "")),
        ("two neighbours changed about", (a, s) => Swapped(s, a._random.Next(Math.Max(1, s.Length - 1)))),
        ("case of one letter", (a, s) => a.At(s, SwapCase)),
        ("all in capitals", (_, s) => s.ToUpperInvariant()),
        ("all small", (_, s) => s.ToLowerInvariant()),
        ("one character escaped", (a, s) => a.At(s, c => Escaped(c, a._random.Next(2) == 0))),
        ("escaped twice", (a, s) => a.At(s, c => Escaped(c, true).Replace("%", "%25", StringComparison.Ordinal))),
        ("escapes written small", (_, s) => Small(s)),
        ("escapes undone", (_, s) => Uri.UnescapeDataString(s)),
        ("spaces as plus", (_, s) => s.Replace("%20", "+", StringComparison.Ordinal)),
        ("spaces as they are", (_, s) => s.Replace("%20", " ", StringComparison.Ordinal)),
        ("fields in another order", (a, s) => a.Fields(s, f => [.. f.OrderBy(_ => a._random.Next())])),
        ("a field twice", (a, s) => a.Fields(s, f => [.. f, a.Pick(f)])),
        ("a field twice, altered first", (a, s) => a.Fields(s, f => [a.Changed(a.Pick(f)), .. f])),
        ("a field twice, altered last", (a, s) => a.Fields(s, f => [.. f, a.Changed(a.Pick(f))])),
        ("a field missing", (a, s) => a.Fields(s, f => f.Where((_, i) => i != a._next % f.Length).ToArray())),
        ("a field empty", (a, s) => a.OneField(s, f => Name(f) + "=")),
        ("a field's name altered", (a, s) => a.OneField(s, f => a.Pick(["x", "KEY", "Sig", "start_by", "finish", " key", ""]) + "=" + Value(f))),
        ("a field more", (a, s) => a.Fields(s, f => [.. f, a.Pick(["x=1", "", "=", "sig", "key=", "download=1", "utf8=✓"])])),
        ("values moved about", (a, s) => a.Fields(s, f => [.. f.Zip(f.Select(Value).OrderBy(_ => a._random.Next()), (n, v) => Name(n) + "=" + v)])),
        ("a number written otherwise", (a, s) => a.OneField(s, f => Name(f) + "=" + a.Otherwise(Value(f)))),
        ("other times", (a, s) => a.OneField(s, f => long.TryParse(Value(f), out var n) ? $"{Name(f)}={n + a._random.NextInt64(-100_000, 10_000_000)}" : f)),
        ("another key", (a, s) => a.Fields(s, f => [f[0], f[1], $"key={a._random.Next(-1, 9)}", f[^1]])),
        ("a piece of another link", (a, s) => a.Mixed(s)),
        ("cut short", (a, s) => s[..a._random.Next(s.Length)]),
        ("its beginning lost", (a, s) => s[a._random.Next(1, s.Length)..]),
        ("a piece in the middle lost", (a, s) => { var (i, j) = a.Two(s); return s[..i] + s[j..]; }),
        ("a piece twice", (a, s) => { var (i, j) = a.Two(s); return s[..j] + s[i..]; }),
        ("made longer", (a, s) => s + a.Pick([" ", "/", "?", "&", "#", "#top", "%00", "=", "==", "\r\n", s, "&" + s, "?" + s])),
        ("lookalikes", (a, s) => a.At(s, Lookalike)),
        ("all lookalikes", (_, s) => string.Concat(s.Select(Lookalike))),
        ("an invisible character", (a, s) => a.At(s, c => c + a.Pick(["\u200B", "\u200D", "\uFEFF", "\u00AD", "%E2%80%8B"]))),
        ("another Unicode form", (_, s) => Uri.EscapeDataString(Uri.UnescapeDataString(s).Normalize(NormalizationForm.FormD)).Replace("%2F", "/", StringComparison.Ordinal)),
        ("path tricks", (a, s) => s.Insert(a.Slash(s), a.Pick(["/", "/.", "/..", "/x/..", "\\", "/%2e", "/%2E%2E", "/;x", "%2F", "%5C", "/%00", "//"]))),
        ("a slash otherwise", (a, s) => { var i = a.Slash(s); return s[..i] + a.Pick(["%2F", "%2f", "\\", "%5C", "∕", "／"]) + s[(i + 1)..]; }),
        ("another way round", (a, s) => a.Pick(["/x/..", "/get/..", "/.", "//shelf.example", "/%67et/..", "\\", "/get", "?", ""]) + (a._next % 2 == 0 ? s : s[1..])),
        ("hidden in a full address", (a, s) => "http://shelf.example" + a.Pick(["/%67et/", "/%67et/junk?", "/get/?", "/get/x?y=", "/%67et/x?http://h", "//", "/get//", "/get"]) + s),
        ("another signature", (a, s) => a.Fields(s, f => [f[0], f[1], f[2], "sig=" + a.Signature(Value(f[^1]))])),
    ];

    private string At(string text, Func<char, string> alter)
    {
        if (text.Length == 0) return text;
        var place = _random.Next(text.Length);
        return text[..place] + alter(text[place]) + text[(place + 1)..];
    }

    private T Pick<T>(IReadOnlyList<T> some) => some[_random.Next(some.Count)];

    private string Pick(string characters) => characters[_random.Next(characters.Length)].ToString();

    private (int From, int To) Two(string text)
    {
        var (i, j) = (_random.Next(text.Length + 1), _random.Next(text.Length + 1));
        return (Math.Min(i, j), Math.Max(i, j));
    }

    private int Slash(string text)
    {
        var places = Enumerable.Range(0, text.Length).Where(i => text[i] == '/').ToList();
        return places.Count == 0 ? 0 : Pick(places);
    }

    private string Fields(string text, Func<string[], string[]> alter)
    {
        var (path, fields) = Split(text);
        return fields.Length < 4 ? text + "&" : path + "?" + string.Join('&', alter(fields));
    }

    private string OneField(string text, Func<string, string> alter) => Fields(text, fields =>
    {
        var at = _random.Next(fields.Length);
        return [.. fields.Select((f, i) => i == at ? alter(f) : f)];
    });

    private string Changed(string field) => Name(field) + "=" + At(Value(field), c => c == '1' ? "2" : "1");

    /// <summary>Each piece from one of the two links, by chance; what comes out whole is a link that was made and is not given out.</summary>
    private string Mixed(string text)
    {
        var (mine, theirs) = (Pieces(text), Pieces(genuine[_random.Next(genuine.Count)]));
        if (mine.Length != theirs.Length) return text + "x";
        return string.Concat(mine.Select((piece, i) => _random.Next(2) == 0 ? piece : theirs[i]));
    }

    private string Otherwise(string number) => Pick<string>(
    [
        "0" + number, "+" + number, " " + number, number + " ", "-" + number, number + ".0", number + "e0", "0x" + number, "%30" + number,
        string.Concat(number.Select(c => char.IsAsciiDigit(c) ? (char)(c - '0' + '\u0660') : c)), // Arabic-Indic digits
        string.Concat(number.Select(c => char.IsAsciiDigit(c) ? (char)(c - '0' + '\uFF10') : c)), // fullwidth digits
        long.TryParse(number, NumberStyles.None, CultureInfo.InvariantCulture, out var n) ? (n + 4_294_967_296).ToString(CultureInfo.InvariantCulture) : "1",
        n > 0 ? ((UInt128)n + ulong.MaxValue + 1).ToString(CultureInfo.InvariantCulture) : "18446744073709551616",
    ]);

    private string Signature(string sig) => Pick<string>(
    [
        "", "none", "null", new string('A', sig.Length), sig + "=", sig + "==", sig.Replace('-', '+').Replace('_', '/') + "=",
        // 43 letters carry 258 bits for 256: the last two bits are not looked at by some readers of base64.
        sig.Length == 0 ? "A" : sig[..^1] + (char)(sig[^1] + 1), sig.Length == 0 ? "A" : sig[..^1] + (char)(sig[^1] - 1),
        string.Concat(sig.Reverse()), Convert.ToHexStringLower(Encoding.ASCII.GetBytes(sig)), sig[..(sig.Length / 2)], sig + sig,
    ]);

    private static (string Path, string[] Fields) Split(string text)
    {
        var mark = text.IndexOf('?', StringComparison.Ordinal);
        return mark < 0 ? (text, []) : (text[..mark], text[(mark + 1)..].Split('&'));
    }

    private static string[] Pieces(string text)
    {
        var (path, fields) = Split(text);
        var slash = path.LastIndexOf('/');
        return slash < 0 ? [text] : [path[..slash], path[slash..], .. fields.Select((f, i) => (i == 0 ? "?" : "&") + f)];
    }

    private static string Name(string field) => field.Split('=')[0];

    private static string Value(string field) => field[(field.IndexOf('=', StringComparison.Ordinal) + 1)..];

    private static string Swapped(string text, int i) => text.Length < 2 ? text : text[..i] + text[i + 1] + text[i] + text[(i + 2)..];

    private static string SwapCase(char c) => (char.IsUpper(c) ? char.ToLowerInvariant(c) : char.ToUpperInvariant(c)).ToString();

    private static string Escaped(char c, bool isUpper) =>
        string.Concat(Encoding.UTF8.GetBytes([c]).Select(b => isUpper ? $"%{b:X2}" : $"%{b:x2}"));

    private static string Small(string text)
    {
        var small = new StringBuilder(text);
        for (var i = text.IndexOf('%', StringComparison.Ordinal); i >= 0 && i + 2 < text.Length; i = text.IndexOf('%', i + 1))
            (small[i + 1], small[i + 2]) = (char.ToLowerInvariant(text[i + 1]), char.ToLowerInvariant(text[i + 2]));
        return small.ToString();
    }

    /// <summary>Letters that look the same in other scripts or forms (Unicode's confusables), and fullwidth forms of the rest.</summary>
    private static string Lookalike(char c) => c switch
    {
        'a' => "а", 'e' => "е", 'o' => "о", 'p' => "р", 'c' => "с", 'x' => "х", 'y' => "у", 'i' => "і", 's' => "ѕ", 'K' => "\u212A",
        > '!' and <= '~' => ((char)(c + 0xFEE0)).ToString(),
        _ => c + "\u0300",
    };
}
