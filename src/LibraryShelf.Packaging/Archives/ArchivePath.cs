using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Which paths an archive may carry. The rule guards whoever unzips it: APPNOTE 6.3.10 §4.4.17.1 (forward slashes, never
/// absolute), and nothing that climbs out of the folder. Names that are merely awkward on some system are the check's matter.
/// </summary>
public static class ArchivePath
{
    /// <summary>Bytes of UTF-8 that a name in a zip can have at most (a 16-bit length field).</summary>
    public const int MostBytes = ushort.MaxValue;

    /// <summary>Why <paramref name="path"/> can't go into an archive, as the end of a sentence about it; null when it can.</summary>
    public static string? Problem(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        if (path.Length == 0)
            return "is empty";
        if (path.Any(char.IsControl))
            return "has a control character (such as a line feed) in its name";
        if (path.Contains('\\'))
            return "has a backslash in its name, which some systems unzip as a folder";
        if (!IsWellFormed(path))
            return "has half a character (a lone surrogate) in its name";
        if (Encoding.UTF8.GetByteCount(path) > MostBytes)
            return "is too long for a zip (more than 65,535 bytes)";
        var parts = path.Split('/');
        if (parts.Contains(""))
            return "starts or ends with a slash, or has two in a row";
        return parts.Contains(".") || parts.Contains("..") ? "has a part that is only dots and would leave its folder" : null;
    }

    private static bool IsWellFormed(string text)
    {
        var rest = text.AsSpan();
        while (!rest.IsEmpty)
        {
            if (Rune.DecodeFromUtf16(rest, out _, out var used) != System.Buffers.OperationStatus.Done)
                return false;
            rest = rest[used..];
        }
        return true;
    }
}
