using System.Globalization;
using System.Text;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Archives;

/// <summary>A folder name that every system can unzip, made from a title.</summary>
public static class FolderName
{
    /// <summary>Bytes of UTF-8 at most: half of what common file systems allow for one name, so that " 1.2.0.zip" always fits.</summary>
    public const int MostBytes = 120;

    /// <summary>Characters that Windows keeps for itself in names (Microsoft, "Naming Files, Paths, and Namespaces").</summary>
    private const string Reserved = "<>:\"/\\|?*";

    /// <summary>
    /// The folder for a title: reserved characters become "-", runs of white space one space; dots, spaces and hyphens at the start
    /// (hidden files, options) and dots and spaces at the end (dropped by Windows) go; a device name gets a "_". The same title gives
    /// the same folder always; a title with nothing usable gives "Library".
    /// </summary>
    public static string FromTitle(string title)
    {
        ArgumentNullException.ThrowIfNull(title);
        var name = Fit(Plain(title).TrimStart('.', ' ', '-'));
        if (name.Length == 0)
            return "Library";
        if (PortablePath.Check(name) != PathProblem.ReservedName)
            return name;
        var stem = name.Split('.')[0].TrimEnd(' ');
        return Fit(string.Concat(stem, "_", name.AsSpan(stem.Length)));
    }

    private static string Fit(string name) => Shorten(name).TrimEnd('.', ' ');

    private static string Plain(string title)
    {
        var plain = new StringBuilder();
        foreach (var rune in title.EnumerateRunes())
        {
            if (Rune.IsWhiteSpace(rune))
                plain.Append(plain.Length > 0 && plain[^1] == ' ' ? "" : " ");
            else if (rune.Value <= char.MaxValue && Reserved.Contains((char)rune.Value))
                plain.Append('-');
            else if (IsVisible(rune))
                plain.Append(rune.ToString());
        }
        return plain.ToString();
    }

    /// <summary>Control and format characters (which can turn the reading direction), and what half a surrogate decodes to, are not kept.</summary>
    private static bool IsVisible(Rune rune) => rune != Rune.ReplacementChar
        && Rune.GetUnicodeCategory(rune) is not (UnicodeCategory.Control or UnicodeCategory.Format
            or UnicodeCategory.LineSeparator or UnicodeCategory.ParagraphSeparator
            or UnicodeCategory.PrivateUse or UnicodeCategory.OtherNotAssigned);

    private static string Shorten(string name)
    {
        var characters = StringInfo.GetTextElementEnumerator(name);
        var kept = new StringBuilder();
        var bytes = 0;
        while (characters.MoveNext())
        {
            var character = characters.GetTextElement();
            bytes += Encoding.UTF8.GetByteCount(character);
            if (bytes > MostBytes)
                break;
            kept.Append(character);
        }
        return kept.ToString();
    }
}
