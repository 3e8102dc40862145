using System.IO.Hashing;
using System.Security.Cryptography;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

/// <summary>Files in memory that stand for blobs, and the archives made of them.</summary>
internal sealed class SampleArchive
{
    private readonly Dictionary<string, byte[]> blobs = new(StringComparer.Ordinal);

    public RecipeEntry Blob(string path, byte[] bytes)
    {
        var sha256 = Convert.ToHexStringLower(SHA256.HashData(bytes));
        blobs[sha256] = bytes;
        return RecipeEntry.FromBlob(path, bytes.Length, Crc32.HashToUInt32(bytes), sha256);
    }

    public Stream Open(string sha256) => new MemoryStream(blobs[sha256], writable: false);

    /// <summary>The whole archive, by the writer.</summary>
    public async Task<byte[]> WriteAsync(Recipe recipe)
    {
        var layout = new ArchiveLayout(recipe);
        using var output = new MemoryStream();
        await ArchiveWriter.WriteAsync(layout, Open, output, 0, layout.Length, CancellationToken.None);
        return output.ToArray();
    }

    /// <summary>One range, straight from the slices.</summary>
    public void Read(ArchiveLayout layout, long from, long toExclusive, MemoryStream into)
    {
        into.SetLength(0);
        foreach (var slice in layout.Slices(from, toExclusive))
        {
            Assert.InRange(slice.Count, 1, toExclusive - from);
            into.Write(slice.BlobSha256 is { } sha256
                ? blobs[sha256].AsSpan((int)slice.Offset, (int)slice.Count)
                : slice.Bytes.Span);
        }
    }

    /// <summary>Empty file, inline text, a name outside ASCII and outside the BMP, a deep path, two files with the same bytes.</summary>
    public Recipe Small() => new("Mended Kettle", Recipe.Undated,
    [
        Blob("Samples/C4.wav", [1, 2, 3, 4, 5]),
        Blob("Samples/empty.wav", []),
        RecipeEntry.FromBytes("CHANGES.md", "# What changed\n"u8.ToArray()),
        Blob("Samples/Glöckchen 鈴 🔔.wav", [9, 8, 7]),
        Blob("a/b/c.sfz", [1, 2, 3, 4, 5]),
        RecipeEntry.FromBytes("nothing.txt", default),
    ]);

    /// <summary>The same kinds of file in so few bytes that every range can be tried.</summary>
    public Recipe Tiny() => new("T", Recipe.Undated,
        [Blob("ä", [1, 2, 3, 4, 5]), Blob("e", []), RecipeEntry.FromBytes("i", "text"u8.ToArray()), RecipeEntry.FromBytes("n", default), Blob("s/z", [6, 7])]);
}
