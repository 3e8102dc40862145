using System.IO.Compression;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Holds a zip's records against those that the shelf would write for the files it lists: since equal recipes give equal bytes, a
/// single altered byte outside the files' bodies shows.
/// </summary>
internal static class ArchiveRecords
{
    /// <summary>Where the first difference lies, in words; null when there is none. RecipeException when no recipe can give such a listing.</summary>
    public static async Task<string?> FirstDifferenceAsync(
        Stream file, IReadOnlyCollection<ZipArchiveEntry> entries, CancellationToken cancellationToken)
    {
        if (entries.FirstOrDefault(e => e.CompressedLength != e.Length) is { } compressed)
            return T($"“{compressed.FullName}” is compressed");
        var layout = new ArchiveLayout(Listed(entries));
        if (layout.Length != file.Length)
            return T($"{file.Length} bytes long instead of {layout.Length}");
        long position = 0;
        var differs = false;
        foreach (var slice in layout.Slices(0, layout.Length))
        {
            if (slice.Entry is { } entry && differs)
                return T($"before the bytes of “{entry.Path}”");
            if (slice.Entry is null)
                differs |= !await AreThereAsync(file, position, slice.Bytes, cancellationToken);
            position += slice.Count;
        }
        return differs ? T("in the directory at its end") : null;
    }

    private static Recipe Listed(IReadOnlyCollection<ZipArchiveEntry> entries)
    {
        var dated = entries.Count == 0 ? Recipe.Undated : DateOnly.FromDateTime(entries.First().LastWriteTime.DateTime);
        // Records don't hold hashes: any will do.
        var noHash = new string('0', 64);
        return new Recipe("", dated, entries.Select(e => RecipeEntry.FromBlob(e.FullName, e.Length, e.Crc32, noHash)));
    }

    private static async Task<bool> AreThereAsync(Stream file, long position, ReadOnlyMemory<byte> expected, CancellationToken cancellationToken)
    {
        var actual = new byte[expected.Length];
        file.Seek(position, SeekOrigin.Begin);
        await file.ReadExactlyAsync(actual, cancellationToken);
        return expected.Span.SequenceEqual(actual);
    }
}
