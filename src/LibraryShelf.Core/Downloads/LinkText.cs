using System.Buffers;
using System.Globalization;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// A link as the path and query of an address: <c>/get/{id}/{file}?start-by=…&amp;finish-by=…&amp;key=…&amp;sig=…</c>. There is
/// exactly one way to write a link; anything else (order, case, escapes, one field more or twice) is not a link.
/// </summary>
internal static class LinkText
{
    private static readonly SearchValues<char> Base64UrlLetters =
        SearchValues.Create("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_");

    private const string Prefix = "/get/";
    /// <summary>A file name of 255 bytes, each written as %XX, and the rest with room to spare.</summary>
    private const int Longest = 2048;

    public static string Write(DownloadLink link) => string.Create(CultureInfo.InvariantCulture,
        $"{Prefix}{link.DownloadId}/{Uri.EscapeDataString(link.FileName)}?start-by={link.StartBy}&finish-by={link.FinishBy}&key={link.KeyId}&sig={link.Mac}");

    /// <summary>Reads a link from a request's path and query just as they came over the wire; null when it is not written as ours are.</summary>
    public static DownloadLink? Read(string pathAndQuery)
    {
        if (pathAndQuery.Length > Longest || !pathAndQuery.StartsWith(Prefix, StringComparison.Ordinal)) return null;
        var rest = pathAndQuery.AsSpan(Prefix.Length);
        if (!TryTake(ref rest, "/", out var id) || !TryTake(ref rest, "?start-by=", out var file) || !TryTake(ref rest, "&finish-by=", out var startBy)
            || !TryTake(ref rest, "&key=", out var finishBy) || !TryTake(ref rest, "&sig=", out var key)
            || id.ContainsAnyExcept(Base64UrlLetters) || rest.ContainsAnyExcept(Base64UrlLetters)) return null;
        if (!TryNumber(startBy, out var start) || !TryNumber(finishBy, out var finish) || !TryNumber(key, out var keyId) || keyId > int.MaxValue)
            return null;
        var link = new DownloadLink(id.ToString(), Uri.UnescapeDataString(file), start, finish, (int)keyId, rest.ToString());
        // Written again it must be the same, letter for letter: that is the whole of the strictness.
        return Write(link) == pathAndQuery ? link : null;
    }

    /// <summary>Takes what stands before <paramref name="end"/>, and the end with it.</summary>
    private static bool TryTake(ref ReadOnlySpan<char> rest, string end, out ReadOnlySpan<char> taken)
    {
        var at = rest.IndexOf(end, StringComparison.Ordinal);
        taken = at < 0 ? default : rest[..at];
        rest = at < 0 ? default : rest[(at + end.Length)..];
        return at >= 0;
    }

    private static bool TryNumber(ReadOnlySpan<char> text, out long number) =>
        long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out number);
}
