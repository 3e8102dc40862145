using System.Globalization;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// A link as the path and query of an address: <c>/get/{id}/{file}?start-by=…&amp;finish-by=…&amp;key=…&amp;sig=…</c>. There is
/// exactly one way to write a link; anything else (order, case, escapes, one field more or twice) is not a link.
/// </summary>
internal static class LinkText
{
    private const string Prefix = "/get/";
    /// <summary>A file name of 255 bytes, each written as %XX, and the rest with room to spare.</summary>
    private const int Longest = 2048;

    public static string Write(DownloadLink link) => string.Create(CultureInfo.InvariantCulture,
        $"{Prefix}{link.DownloadId}/{Uri.EscapeDataString(link.FileName)}?start-by={link.StartBy}&finish-by={link.FinishBy}&key={link.KeyId}&sig={link.Mac}");

    /// <summary>Reads a link from a request's path and query just as they came over the wire; null when it is not written as ours are.</summary>
    public static DownloadLink? Read(string pathAndQuery)
    {
        if (pathAndQuery.Length > Longest || !pathAndQuery.StartsWith(Prefix, StringComparison.Ordinal)) return null;
        var mark = pathAndQuery.IndexOf('?', StringComparison.Ordinal);
        if (mark < 0) return null;
        var path = pathAndQuery[Prefix.Length..mark].Split('/');
        var values = pathAndQuery[(mark + 1)..].Split('&').Select(field => field[(field.IndexOf('=', StringComparison.Ordinal) + 1)..]).ToArray();
        if (path.Length != 2 || values.Length != 4) return null;
        if (!TryNumber(values[0], out var startBy) || !TryNumber(values[1], out var finishBy) || !TryNumber(values[2], out var key) || key > int.MaxValue)
            return null;
        var link = new DownloadLink(path[0], Uri.UnescapeDataString(path[1]), startBy, finishBy, (int)key, values[3]);
        // Written again it must be the same, letter for letter: that is the whole of the strictness.
        return Write(link) == pathAndQuery ? link : null;
    }

    private static bool TryNumber(string text, out long number) =>
        long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out number);
}
