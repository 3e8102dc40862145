using System.Security.Cryptography;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// What an archive is made of: its top folder, its date and its files in order. Two equal recipes give equal archives, byte for
/// byte, on any machine; <see cref="Sha256"/> is therefore the archive's identity before a byte of it exists.
/// </summary>
public sealed class Recipe
{
    /// <summary>The earliest date a zip can carry, and the one every entry carries unless the maker dates the release.</summary>
    public static readonly DateOnly Undated = new(1980, 1, 1);

    /// <summary>The last date a zip can carry: seven bits of years from 1980 (APPNOTE 6.3.10 §4.4.6).</summary>
    public static readonly DateOnly LastDate = new(2107, 12, 31);

    /// <summary>Bytes of content that an archive may have at most: far beyond any library, far below what overflows.</summary>
    public const long MostBytes = 1L << 56;

    private readonly Lazy<byte[]> canonical;
    private readonly Lazy<string> sha256;

    /// <summary>
    /// Entries keep the given order. RecipeException when a path occurs twice or is both a file and a folder, when the top
    /// folder is more than one part, when the date can't be written in a zip, or when the whole is beyond <see cref="MostBytes"/>.
    /// </summary>
    /// <param name="topFolder">The folder everything lies in, one part; "" when the paths already say all (a drop of several libraries).</param>
    /// <param name="dated">1980-01-01 to 2107-12-31.</param>
    /// <param name="entries">The files, in the order they lie in the archive.</param>
    public Recipe(string topFolder, DateOnly dated, IEnumerable<RecipeEntry> entries)
    {
        TopFolder = topFolder;
        Dated = dated;
        Entries = [.. entries];
        RecipeRules.Require(this);
        canonical = new Lazy<byte[]>(() => RecipeText.Write(this));
        sha256 = new Lazy<string>(() => Convert.ToHexStringLower(SHA256.HashData(canonical.Value)));
    }

    public string TopFolder { get; }
    public DateOnly Dated { get; }
    public IReadOnlyList<RecipeEntry> Entries { get; }

    /// <summary>The one way to write this recipe: versioned UTF-8 text, a line feed after every line, path last on a line.</summary>
    public ReadOnlyMemory<byte> CanonicalBytes => canonical.Value;

    /// <summary>SHA-256 of <see cref="CanonicalBytes"/>, 64 lower-case hex digits: the archive's strong ETag (put it in quotes).</summary>
    public string Sha256 => sha256.Value;

    /// <summary>The full path of an entry in the archive.</summary>
    public string PathInArchive(RecipeEntry entry)
    {
        ArgumentNullException.ThrowIfNull(entry);
        return TopFolder.Length == 0 ? entry.Path : TopFolder + "/" + entry.Path;
    }

    /// <summary>Reads canonical bytes back. Trusts nothing: anything but the canonical form of a possible recipe is a FormatException that says where.</summary>
    public static Recipe Parse(ReadOnlyMemory<byte> canonicalBytes) => RecipeText.Read(canonicalBytes);
}
