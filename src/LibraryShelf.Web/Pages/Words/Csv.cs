namespace LibraryShelf.Web.Pages.Words;

/// <summary>Text in a file for spreadsheets, RFC 4180.</summary>
internal static class Csv
{
    /// <summary>Quoted where needed; what begins like a formula is marked as text, so that a spreadsheet does not reckon with it.</summary>
    public static string Text(string text)
    {
        var safe = text.Length > 0 && "=+-@\t\r\n".Contains(text[0], StringComparison.Ordinal) ? "'" + text : text;
        return safe.AsSpan().ContainsAny("\",\r\n") ? $"\"{safe.Replace("\"", "\"\"", StringComparison.Ordinal)}\"" : safe;
    }
}
