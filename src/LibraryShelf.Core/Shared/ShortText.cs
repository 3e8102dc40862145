namespace LibraryShelf.Core.Shared;

/// <summary>Text cut to what a column or a line takes.</summary>
public static class ShortText
{
    /// <summary>
    /// The first <paramref name="most"/> UTF-16 units of it, or one less where the cut would go through a pair: half a pair is no text, and
    /// PostgreSQL refuses it.
    /// </summary>
    /// <param name="most">1 or more.</param>
    public static string Of(string text, int most)
    {
        if (text.Length <= most)
            return text;
        return text[..(char.IsHighSurrogate(text[most - 1]) && char.IsLowSurrogate(text[most]) ? most - 1 : most)];
    }
}
