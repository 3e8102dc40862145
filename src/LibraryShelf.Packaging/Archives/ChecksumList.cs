using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// The text that `sha256sum -c` reads: hash, two spaces, name. A name holding a backslash, line feed or carriage return is
/// written with \\, \n, \r and a backslash before the whole line (GNU coreutils 9.1 manual, "cksum output modes").
/// </summary>
public static class ChecksumList
{
    private const int HashLength = 64;

    /// <summary>The text for these files, in ordinal order of their paths, a line feed after each line.</summary>
    public static string Write(IEnumerable<ListedChecksum> files)
    {
        var text = new StringBuilder();
        foreach (var (path, sha256) in files.OrderBy(f => f.Path, StringComparer.Ordinal))
        {
            var escaped = path.Replace("\\", "\\\\").Replace("\n", "\\n").Replace("\r", "\\r");
            text.Append(escaped.Length == path.Length ? "" : "\\").Append(sha256).Append("  ").Append(escaped).Append('\n');
        }
        return text.ToString();
    }

    /// <summary>
    /// Reads such a text; comments and empty lines are passed over, "*" before a name (binary) is taken as sha256sum takes it.
    /// FormatException, naming the line, for anything else.
    /// </summary>
    public static IReadOnlyList<ListedChecksum> Read(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        var listed = new List<ListedChecksum>();
        var number = 0;
        foreach (var raw in text.Split('\n'))
        {
            number++;
            var line = raw.TrimEnd('\r');
            if (line.Length == 0 || line[0] == '#')
                continue;
            listed.Add(ReadLine(line) ?? throw new FormatException(T($"Line {number} is not “hash, two spaces, name”.")));
        }
        return listed;
    }

    private static ListedChecksum? ReadLine(string line)
    {
        var escaped = line[0] == '\\';
        var rest = escaped ? line[1..] : line;
        if (rest.Length < HashLength + 3 || rest[HashLength] != ' ' || rest[HashLength + 1] is not (' ' or '*'))
            return null;
        var sha256 = rest[..HashLength];
        var path = escaped ? Unescape(rest[(HashLength + 2)..]) : rest[(HashLength + 2)..];
        return path is not null && sha256.All(char.IsAsciiHexDigit) ? new ListedChecksum(path, sha256.ToLowerInvariant()) : null;
    }

    private static string? Unescape(string name)
    {
        var plain = new StringBuilder();
        for (var i = 0; i < name.Length; i++)
        {
            if (name[i] != '\\')
            {
                plain.Append(name[i]);
                continue;
            }
            i++;
            if (i == name.Length || name[i] is not ('\\' or 'n' or 'r'))
                return null;
            plain.Append(name[i] switch { 'n' => '\n', 'r' => '\r', _ => '\\' });
        }
        return plain.ToString();
    }
}

/// <summary>A file and the SHA-256 (64 lower-case hex digits) it should have.</summary>
public sealed record ListedChecksum(string Path, string Sha256);
