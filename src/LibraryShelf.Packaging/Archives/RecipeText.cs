using System.Globalization;
using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// The canonical form, version 1:
/// <code>
/// libraryshelf-recipe 1
/// dated 1980-01-01
/// entries 2
/// top Mended Kettle
/// blob 1048620 0a1b2c3d 9f86…(64 hex) Samples/C4.wav
/// text 7 89abcdef SGVsbG8hCg== CHANGES.md
/// </code>
/// Numbers are decimal without leading zeros, hex is lower case, base64 is padded and unbroken. A path can't hold a line feed
/// (<see cref="Folders.PortablePath"/>), so it needs no quoting at the end of a line.
/// </summary>
internal static class RecipeText
{
    private const string Heading = "libraryshelf-recipe 1";
    private static readonly UTF8Encoding StrictUtf8 = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    public static byte[] Write(Recipe recipe)
    {
        var text = new StringBuilder();
        text.Append(Heading).Append('\n');
        text.Append(CultureInfo.InvariantCulture, $"dated {recipe.Dated:yyyy-MM-dd}\n");
        text.Append(CultureInfo.InvariantCulture, $"entries {recipe.Entries.Count}\n");
        text.Append("top ").Append(recipe.TopFolder).Append('\n');
        foreach (var entry in recipe.Entries)
        {
            var (kind, bytes) = entry.Sha256 is { } sha256 ? ("blob", sha256) : ("text", Convert.ToBase64String(entry.Inline.Span));
            text.Append(CultureInfo.InvariantCulture, $"{kind} {entry.Size} {entry.Crc32:x8} {bytes} {entry.Path}\n");
        }
        return StrictUtf8.GetBytes(text.ToString());
    }

    public static Recipe Read(ReadOnlyMemory<byte> bytes)
    {
        var lines = Decode(bytes).Split('\n');
        if (lines[0] != Heading)
            throw new FormatException($"Not a recipe: the first line is not \"{Heading}\".");
        if (lines.Length < 5 || lines[^1].Length > 0)
            throw new FormatException("The recipe ends too early.");
        var dated = Value(lines, 1, "dated ");
        if (!DateOnly.TryParseExact(dated, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var date))
            throw new FormatException($"Line 2 of the recipe: \"{dated}\" is not a date.");
        var entries = new List<RecipeEntry>(lines.Length - 5);
        for (var i = 4; i < lines.Length - 1; i++)
            entries.Add(ReadEntry(lines[i], i + 1));
        var recipe = Make(Value(lines, 3, "top "), date, entries);
        // One recipe, one text: whatever would be written differently (leading zeros, a wrong count, a wrong CRC) is refused.
        return recipe.CanonicalBytes.Span.SequenceEqual(bytes.Span)
            ? recipe
            : throw new FormatException($"The recipe is not in its canonical form ({Difference(recipe, lines)}).");
    }

    private static string Decode(ReadOnlyMemory<byte> bytes)
    {
        try
        {
            return StrictUtf8.GetString(bytes.Span);
        }
        catch (DecoderFallbackException e)
        {
            throw new FormatException("The recipe is not UTF-8 text.", e);
        }
    }

    private static string Value(string[] lines, int index, string key) =>
        lines[index].StartsWith(key, StringComparison.Ordinal)
            ? lines[index][key.Length..]
            : throw new FormatException($"Line {index + 1} of the recipe should start with \"{key}\".");

    private static RecipeEntry ReadEntry(string line, int number)
    {
        var parts = line.Split(' ', 5);
        if (parts.Length != 5
            || !long.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out var size)
            || !uint.TryParse(parts[2], NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out var crc32))
            throw new FormatException($"Line {number} of the recipe is not \"kind size crc bytes path\".");
        try
        {
            return parts[0] switch
            {
                "blob" => RecipeEntry.FromBlob(parts[4], size, crc32, parts[3]),
                "text" => RecipeEntry.FromBytes(parts[4], Convert.FromBase64String(parts[3])),
                _ => throw new FormatException("an entry is a blob or a text"),
            };
        }
        catch (Exception e) when (e is ArgumentException or FormatException or RecipeException)
        {
            throw new FormatException($"Line {number} of the recipe: {e.Message}", e);
        }
    }

    private static Recipe Make(string topFolder, DateOnly date, List<RecipeEntry> entries)
    {
        try
        {
            return new Recipe(topFolder, date, entries);
        }
        catch (RecipeException e)
        {
            throw new FormatException("The recipe can't be an archive: " + e.Message, e);
        }
    }

    private static string Difference(Recipe recipe, string[] lines)
    {
        var own = Encoding.UTF8.GetString(recipe.CanonicalBytes.Span).Split('\n');
        var line = own.Zip(lines).TakeWhile(pair => pair.First == pair.Second).Count();
        return string.Create(CultureInfo.InvariantCulture, $"line {line + 1}");
    }
}
