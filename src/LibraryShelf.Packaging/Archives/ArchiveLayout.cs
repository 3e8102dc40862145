using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Where every byte of a recipe's archive lies, computed without a byte of content. An archive of n files is 3n + 1 parts:
/// header and body of each file, the central directory's header of each, and the end records.
/// </summary>
public sealed class ArchiveLayout
{
    /// <summary>Neighbouring bytes in memory are handed out together up to about this many.</summary>
    private const int Together = 64 * 1024;

    private readonly Recipe recipe;
    /// <summary>Start of each file's local header; one more at the end: the central directory's start.</summary>
    private readonly long[] localStarts;
    /// <summary>Start of each file's central header; one more at the end: the end records' start.</summary>
    private readonly long[] centralStarts;

    public ArchiveLayout(Recipe recipe)
    {
        ArgumentNullException.ThrowIfNull(recipe);
        this.recipe = recipe;
        var count = recipe.Entries.Count;
        localStarts = new long[count + 1];
        centralStarts = new long[count + 1];
        var nameLengths = recipe.Entries.Select(e => Encoding.UTF8.GetByteCount(recipe.PathInArchive(e))).ToArray();
        for (var i = 0; i < count; i++)
        {
            var size = recipe.Entries[i].Size;
            localStarts[i + 1] = localStarts[i] + ZipRecords.LocalLength + nameLengths[i] + ZipRecords.LocalExtraLength(size) + size;
        }
        centralStarts[0] = localStarts[count];
        for (var i = 0; i < count; i++)
        {
            var extra = ZipRecords.CentralExtraLength(recipe.Entries[i].Size, localStarts[i]);
            centralStarts[i + 1] = centralStarts[i] + ZipRecords.CentralLength + nameLengths[i] + extra;
        }
        Length = centralStarts[count] + ZipRecords.EndRecordsLength(count, centralStarts[0], centralStarts[count] - centralStarts[0]);
    }

    public Recipe Recipe => recipe;

    /// <summary>Bytes of the whole archive.</summary>
    public long Length { get; }

    /// <summary>
    /// The bytes [<paramref name="from"/>, <paramref name="toExclusive"/>) as runs in order: nothing for an empty range.
    /// ArgumentOutOfRangeException unless 0 ≤ from ≤ toExclusive ≤ <see cref="Length"/>.
    /// </summary>
    public IEnumerable<ArchiveSlice> Slices(long from, long toExclusive)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(from);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(toExclusive, Length);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(from, toExclusive);
        return SlicesChecked(from, toExclusive);
    }

    private IEnumerable<ArchiveSlice> SlicesChecked(long from, long to)
    {
        var memory = new MemoryStream();
        for (var part = from < to ? PartAt(from) : PartCount; part < PartCount && PartStart(part) < to; part++)
        {
            var start = Math.Max(from, PartStart(part));
            var count = Math.Min(to, PartStart(part + 1)) - start;
            var offset = start - PartStart(part);
            if (count == 0)
                continue;
            if (BlobOf(part) is not { } entry)
            {
                memory.Write(PartBytes(part).Span.Slice((int)offset, (int)count));
                if (memory.Length < Together)
                    continue;
            }
            if (memory.Length > 0)
            {
                yield return new ArchiveSlice(memory.ToArray());
                memory.SetLength(0);
            }
            if (BlobOf(part) is { } blob)
                yield return new ArchiveSlice(blob, offset, count);
        }
        if (memory.Length > 0)
            yield return new ArchiveSlice(memory.ToArray());
    }

    private int FileCount => recipe.Entries.Count;

    private int PartCount => (3 * FileCount) + 1;

    private long PartStart(int part)
    {
        if (part < 2 * FileCount)
            return int.IsEvenInteger(part) ? localStarts[part / 2] : localStarts[(part / 2) + 1] - recipe.Entries[part / 2].Size;
        return part <= 3 * FileCount ? centralStarts[part - (2 * FileCount)] : Length;
    }

    /// <summary>The part that holds this byte: the last one starting at or before it, since empty parts share a start with the next.</summary>
    private int PartAt(long position)
    {
        int low = 0, high = PartCount;
        while (high - low > 1)
        {
            var middle = low + ((high - low) / 2);
            if (PartStart(middle) <= position)
                low = middle;
            else
                high = middle;
        }
        return low;
    }

    private RecipeEntry? BlobOf(int part) =>
        part < 2 * FileCount && int.IsOddInteger(part) && recipe.Entries[part / 2] is { Sha256: not null } entry ? entry : null;

    private ReadOnlyMemory<byte> PartBytes(int part)
    {
        if (part == 3 * FileCount)
            return ZipRecords.End(FileCount, centralStarts[0], centralStarts[FileCount] - centralStarts[0]);
        var isLocal = part < 2 * FileCount;
        var file = isLocal ? part / 2 : part - (2 * FileCount);
        var entry = recipe.Entries[file];
        if (isLocal && int.IsOddInteger(part))
            return entry.Inline;
        var name = recipe.PathInArchive(entry);
        return isLocal
            ? ZipRecords.Local(name, entry, recipe.Dated, localStarts[file])
            : ZipRecords.Central(name, entry, recipe.Dated, localStarts[file]);
    }
}
