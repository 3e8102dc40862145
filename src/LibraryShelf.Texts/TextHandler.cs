using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;

namespace LibraryShelf.Texts;

/// <summary>Takes an interpolated string apart into its key and what fills the holes; English is written straight away.</summary>
[InterpolatedStringHandler]
public ref struct TextHandler(int literalLength, int formattedCount)
{
    private DefaultInterpolatedStringHandler _english = new(literalLength, formattedCount, CultureInfo.InvariantCulture);
    private readonly Holes? _holes = Say.Spoken is null ? null : new Holes();

    public void AppendLiteral(string text)
    {
        if (_holes is null)
            _english.AppendLiteral(text);
        else
            _holes.Literal(text);
    }

    public void AppendFormatted<TValue>(TValue value, string? format = null)
    {
        if (_holes is null)
            _english.AppendFormatted(value, format);
        else
            _holes.Add(value, Holes.Format(value, format));
    }

    internal string ToText() => _holes is null ? _english.ToStringAndClear() : _holes.ToText();
}

/// <summary>The key of a sentence as far as it was read, and what fills its holes.</summary>
public sealed class Holes
{
    private readonly StringBuilder _key = new();
    private readonly List<string> _words = [];
    private readonly List<object?> _values = [];

    /// <summary>A brace that stands for itself is doubled in the key, as in a format string.</summary>
    public void Literal(string text) => _key.Append(text.Replace("{", "{{", StringComparison.Ordinal).Replace("}", "}}", StringComparison.Ordinal));

    /// <param name="value">As it was: a number chooses the form of its noun.</param>
    /// <param name="words">As it is to be read.</param>
    public void Add(object? value, string words)
    {
        _key.Append(CultureInfo.InvariantCulture, $"{{{_words.Count}}}");
        _words.Add(words);
        _values.Add(value);
    }

    public string ToText()
    {
        var key = _key.ToString();
        return Say.Spoken?.Find(key)?.Fill(_words, _values) ?? Wording.Fill(key, _words);
    }

    public static string Format(object? value, string? format) =>
        value is IFormattable number ? number.ToString(format, Say.Culture) : value?.ToString() ?? "";
}
