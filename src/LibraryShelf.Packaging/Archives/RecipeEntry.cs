using System.Globalization;
using System.IO.Hashing;
using System.Security.Cryptography;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// One file of an archive: where it lies, how long it is, its CRC-32, and its bytes: either a blob named by its SHA-256 or,
/// for the few texts the shelf writes itself, the bytes themselves. Built by <see cref="FromBlob"/> or <see cref="FromBytes"/>.
/// </summary>
public sealed class RecipeEntry
{
    private RecipeEntry(string path, long size, uint crc32, string? sha256, ReadOnlyMemory<byte> inline) =>
        (Path, Size, Crc32, Sha256, Inline) = (path, size, crc32, sha256, inline);

    /// <summary>Path under the recipe's top folder, '/' between parts.</summary>
    public string Path { get; }
    /// <summary>Bytes, 0 or more.</summary>
    public long Size { get; }
    /// <summary>CRC-32 as in zip (ISO 3309).</summary>
    public uint Crc32 { get; }
    /// <summary>The blob's SHA-256, 64 lower-case hex digits; null when the bytes are <see cref="Inline"/>.</summary>
    public string? Sha256 { get; }
    /// <summary>The bytes themselves; empty when <see cref="Sha256"/> names a blob.</summary>
    public ReadOnlyMemory<byte> Inline { get; }

    /// <summary>A file whose bytes are kept elsewhere. RecipeException for a path that must not be stored (<see cref="PortablePath.IsUnsafe"/>), ArgumentException for a size or hash that can't.</summary>
    public static RecipeEntry FromBlob(string path, long size, uint crc32, string sha256)
    {
        ArgumentNullException.ThrowIfNull(sha256);
        RequirePath(path);
        ArgumentOutOfRangeException.ThrowIfNegative(size);
        if (sha256.Length != 64 || !sha256.All(char.IsAsciiHexDigitLower))
            throw new ArgumentException("A SHA-256 is 64 lower-case hex digits.", nameof(sha256));
        return new RecipeEntry(path, size, crc32, sha256, default);
    }

    /// <summary>A file that travels inside the recipe. RecipeException for a path that must not be stored.</summary>
    public static RecipeEntry FromBytes(string path, ReadOnlyMemory<byte> bytes)
    {
        RequirePath(path);
        return new RecipeEntry(path, bytes.Length, System.IO.Hashing.Crc32.HashToUInt32(bytes.Span), null, bytes);
    }

    /// <summary>The same bytes in this folder. RecipeException for a folder that must not be stored.</summary>
    internal RecipeEntry Under(string folder)
    {
        var path = $"{folder}/{Path}";
        RequirePath(path);
        return new RecipeEntry(path, Size, Crc32, Sha256, Inline);
    }

    /// <summary>Another entry stands for the same bytes, whether they are inline or a blob's.</summary>
    internal bool HasSameBytes(RecipeEntry other) =>
        Size == other.Size && (Sha256 is null && other.Sha256 is null ? Inline.Span.SequenceEqual(other.Inline.Span) : Hash == other.Hash);

    /// <summary>SHA-256 of the bytes, wherever they are kept.</summary>
    internal string Hash => Sha256 ?? Convert.ToHexStringLower(SHA256.HashData(Inline.Span));

    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Path} ({Size} bytes)");

    private static void RequirePath(string path)
    {
        if (PortablePath.Check(path) is { } problem && PortablePath.IsUnsafe(problem))
            throw new RecipeException($"\"{path}\": {PortablePath.Words(problem)}");
    }
}
