using System.Globalization;
using System.Buffers;
using System.Text;

namespace LibraryShelf.Packaging.Folders;

/// <summary>
/// The one guard for paths inside a library folder: '/' between parts, nothing that leaves the folder, nothing that Windows,
/// macOS or Linux refuses or alters. Intake, unpacking and the check all ask here.
/// Windows' rules: https://learn.microsoft.com/windows/win32/fileio/naming-a-file.
/// </summary>
public static class PortablePath
{
    /// <summary>
    /// Longest path within the library folder, UTF-16 units: Windows programs that keep to MAX_PATH (260 with drive and final NUL)
    /// need the rest, about 80, for where the library is put.
    /// </summary>
    public const int MaxLength = 180;

    /// <summary>Longest single name, UTF-16 units (some encrypted Linux homes stop at 143 bytes).</summary>
    public const int MaxPartLength = 120;

    /// <summary>Longest single name, UTF-8 bytes: NAME_MAX of the common Linux file systems.</summary>
    public const int MaxPartBytes = 255;

    /// <summary>Longest path that is stored at all, UTF-16 units; PATH_MAX of Linux is 4,096 bytes.</summary>
    public const int MaxStored = 1024;

    private static readonly SearchValues<char> Forbidden = SearchValues.Create("<>:\"|?*");

    private static readonly HashSet<string> ReservedNames = new(StringComparer.OrdinalIgnoreCase)
    {
        "CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$",
        "COM0", "COM1", "COM2", "COM3", "COM4", "COM5", "COM6", "COM7", "COM8", "COM9", "COM¹", "COM²", "COM³",
        "LPT0", "LPT1", "LPT2", "LPT3", "LPT4", "LPT5", "LPT6", "LPT7", "LPT8", "LPT9", "LPT¹", "LPT²", "LPT³",
    };

    /// <summary>The first thing that keeps <paramref name="path"/> from being carried everywhere; null when all is well.</summary>
    public static PathProblem? Check(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        return CheckWhole(path) ?? CheckParts(path);
    }

    /// <summary>
    /// True for a path that must not be stored at all (it could leave its folder); false for one that a maker may keep in a
    /// draft until she mends it.
    /// </summary>
    public static bool IsUnsafe(PathProblem problem) => problem < PathProblem.ForbiddenCharacter;

    /// <summary>What is wrong and what to do, as a sentence that follows the path.</summary>
    public static string Words(PathProblem problem) => problem switch
    {
        PathProblem.Empty => T("The name is empty. Give the file a name."),
        PathProblem.Absolute => T("The path starts at the root of a disk. Send it as a path inside the library folder."),
        PathProblem.Drive => T("The path names a drive. Send it as a path inside the library folder."),
        PathProblem.NetworkPath => T("The path names a network place. Send it as a path inside the library folder."),
        PathProblem.Backslash => T("The path holds a backslash, which is a folder mark on one system and a letter on others. Use / between folders and rename the file."),
        PathProblem.ClimbsOut => T("The path climbs out of the library folder (. or ..). Send it as a path inside the folder."),
        PathProblem.EmptyPart => T("The path has an empty part (two slashes, or one at the end). Send it as a plain path."),
        PathProblem.ControlCharacter => T("The name holds a control character, which can’t be seen or typed, or one that turns the direction of reading. Rename the file."),
        PathProblem.BrokenText => T("The name is not readable as text. Rename the file."),
        PathProblem.FarTooLong => T($"The whole path is longer than {MaxStored:N0} letters; no system takes that. Shorten names or use fewer folders."),
        PathProblem.ForbiddenCharacter => T("Windows allows none of < > : \" | ? * in a name. Rename the file."),
        PathProblem.ReservedName => T("Windows keeps this name for a device (CON, NUL, COM1 and the like). Rename the file."),
        PathProblem.TrailingDotOrSpace => T("A name that ends in a dot or a space, or starts with a space, is altered by Windows. Rename the file."),
        PathProblem.PartTooLong => T($"A single name is longer than {MaxPartLength} letters. Shorten it."),
        PathProblem.TooLong => T($"The whole path is longer than {MaxLength} letters, too long for some players on Windows. Shorten names or use fewer folders."),
        _ => throw new ArgumentOutOfRangeException(nameof(problem)),
    };

    /// <summary>
    /// Groups of paths that are one file on a system that ignores case or spells accents otherwise (Windows, macOS), and files
    /// whose path is also a folder's. Each group holds two or more, sorted; empty when all can stand beside each other.
    /// </summary>
    public static IReadOnlyList<IReadOnlyList<string>> Collisions(IEnumerable<string> paths)
    {
        var distinct = paths.Distinct(StringComparer.Ordinal).ToList();
        var byKey = distinct.GroupBy(NameKey.Of, StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.ToList(), StringComparer.Ordinal);
        foreach (var path in distinct)
            AddToFileOfSameName(byKey, path);
        return [.. byKey.Values
            .Where(group => group.Count > 1)
            .Select(group => (IReadOnlyList<string>)[.. group.Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)])
            .OrderBy(group => group[0], StringComparer.Ordinal)];
    }

    private static void AddToFileOfSameName(Dictionary<string, List<string>> files, string path)
    {
        for (var slash = path.IndexOf('/', StringComparison.Ordinal); slash > 0; slash = path.IndexOf('/', slash + 1))
            if (files.TryGetValue(NameKey.Of(path[..slash]), out var group))
                group.Add(path);
    }

    /// <summary>
    /// Control characters, line and paragraph separators, and formatting ones (Unicode's category Cf: what turns the direction of reading, takes no room, or
    /// shows at a line's end alone), by which a name can be made to look like another. Not the two joiners, which some scripts are spelled with: a name that
    /// differs by them alone collides (<see cref="NameKey"/>).
    /// </summary>
    public static bool IsUnseen(char letter) =>
        char.IsControl(letter) || letter is '\u2028' or '\u2029'
        || (char.GetUnicodeCategory(letter) == UnicodeCategory.Format && letter is not ('\u200C' or '\u200D'));

    private static PathProblem? CheckWhole(string path)
    {
        if (string.IsNullOrEmpty(path))
            return PathProblem.Empty;
        if (path.StartsWith("//", StringComparison.Ordinal) || path.StartsWith(@"\\", StringComparison.Ordinal))
            return PathProblem.NetworkPath;
        if (path[0] == '/')
            return PathProblem.Absolute;
        if (path.Length >= 2 && path[1] == ':' && char.IsAsciiLetter(path[0]))
            return PathProblem.Drive;
        if (path.Contains('\\', StringComparison.Ordinal))
            return PathProblem.Backslash;
        if (path.Length > MaxStored)
            return PathProblem.FarTooLong;
        if (path.Any(IsUnseen))
            return PathProblem.ControlCharacter;
        return IsWellFormed(path) ? null : PathProblem.BrokenText;
    }

    private static PathProblem? CheckParts(string path)
    {
        var parts = path.Split('/');
        if (Array.Exists(parts, part => part.Length == 0))
            return PathProblem.EmptyPart;
        if (Array.Exists(parts, part => part is "." or ".."))
            return PathProblem.ClimbsOut;
        foreach (var part in parts)
            if (CheckPart(part) is { } problem)
                return problem;
        return path.Length > MaxLength ? PathProblem.TooLong : null;
    }

    private static PathProblem? CheckPart(string part)
    {
        if (part.AsSpan().ContainsAny(Forbidden))
            return PathProblem.ForbiddenCharacter;
        if (part[^1] is '.' or ' ' || part[0] == ' ')
            return PathProblem.TrailingDotOrSpace;
        if (ReservedNames.Contains(part.Split('.')[0].TrimEnd(' ')))
            return PathProblem.ReservedName;
        return part.Length > MaxPartLength || Encoding.UTF8.GetByteCount(part) > MaxPartBytes ? PathProblem.PartTooLong : null;
    }

    /// <summary>False for half a surrogate pair and for U+FFFD, which stands where bytes were no UTF-8.</summary>
    private static bool IsWellFormed(string text)
    {
        for (var i = 0; i < text.Length; i++)
        {
            if (text[i] == '\uFFFD')
                return false;
            if (!char.IsSurrogate(text[i]))
                continue;
            if (i + 1 == text.Length || !char.IsSurrogatePair(text[i], text[i + 1]))
                return false;
            i++;
        }
        return true;
    }
}
