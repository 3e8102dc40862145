using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;

namespace LibraryShelf.Texts;

/// <summary>Takes an interpolated string apart into its key and what fills the holes; English is written straight away.</summary>
[InterpolatedStringHandler]
public readonly struct TextHandler(int literalLength, int formattedCount)
{
    private readonly StringBuilder? _english = Say.Spoken is null ? new StringBuilder(literalLength + (formattedCount * 12)) : null;
    private readonly Holes? _holes = Say.Spoken is null ? null : new Holes();

    public void AppendLiteral(string text)
    {
        _english?.Append(text);
        _holes?.Literal(text);
    }

    public void AppendFormatted<TValue>(TValue value, string? format = null)
    {
        var words = Holes.Format(value, format);
        _english?.Append(words);
        _holes?.Add(value, words);
    }

    internal string ToText() => _english?.ToString() ?? _holes!.ToText();
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
