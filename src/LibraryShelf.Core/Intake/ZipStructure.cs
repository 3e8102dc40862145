using System.Buffers.Binary;
using System.Text;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// Reads a zip's records by hand (APPNOTE 6.3.10; section numbers are its) before anything is unpacked, because readers differ in
/// what they make of a zip that contradicts itself. Taken is only one that all readers see alike: one list of entries that ends
/// the file, entries that don't overlap, local headers that say what the list says. Memory and time are bounded by the limits.
/// </summary>
internal sealed class ZipStructure
{
    private const uint LocalMark = 0x04034b50, CentralMark = 0x02014b50, EndMark = 0x06054b50, Zip64EndMark = 0x06064b50, Zip64LocatorMark = 0x07064b50;
    private const int LocalLength = 30, CentralLength = 46, EndLength = 22, LocatorLength = 20, Zip64EndLength = 56;
    private const int LongestComment = ushort.MaxValue;
    /// <summary>Bytes of the longest name that can be taken, a letter of UTF-8 having four at most: the list is kept in memory.</summary>
    private const int LongestName = 4 * PortablePath.MaxStored, LongestNameShown = 60;
    /// <summary>
    /// Bytes of an entry's comment, and of its extra fields beside a name told twice: readers keep them in memory for every entry, and 64 KiB each would be
    /// gigabytes. What is in use takes some dozens (times, owners, sizes of large files).
    /// </summary>
    private const int LongestBeside = 1024, LongestExtra = LongestName + LongestBeside;
    private const ushort HasDescriptor = 1 << 3;
    private const uint See64 = uint.MaxValue;

    private readonly Stream zip;

    private ZipStructure(Stream zip) => this.zip = zip;

    /// <summary>An entry of the list. Its data, <c>PackedSize</c> bytes, lies after the local header at <c>Start</c>.</summary>
    private readonly record struct Entry(byte[] Name, ushort Flags, ushort Method, uint Crc, long PackedSize, long Size, long Start)
    {
        public string Path => FolderRules.Shown(Encoding.UTF8.GetString(Name));
    }

    /// <summary>ZipRefusedException, naming the entry where there is one, when the zip is not of one mind.</summary>
    public static void Guard(Stream zip, int mostEntries)
    {
        var structure = new ZipStructure(zip);
        var (count, start, length) = structure.ReadEnd();
        if (count > mostEntries)
            throw new ZipRefusedException(T($"It holds {count:N0} entries; this shelf takes {mostEntries:N0} in one zip."));
        var entries = structure.ReadList(count, start, length);
        structure.GuardLocals(entries, start);
    }

    /// <summary>Count, start and length of the list of entries.</summary>
    private (long Count, long Start, long Length) ReadEnd()
    {
        var tailLength = (int)Math.Min(zip.Length, EndLength + LongestComment);
        var tail = Read(zip.Length - tailLength, tailLength);
        var at = FindEnd(tail);
        var end = tail.AsSpan(at);
        long count = Short(end, 10), length = Int(end, 12), start = Int(end, 16);
        if (Short(end, 4) != 0 || Short(end, 6) != 0 || Short(end, 8) != count)
            throw new ZipRefusedException(T("It is one part of several, or its list of files contradicts itself. Zip the folder anew, in one file."));
        var endsAt = zip.Length - tailLength + at;
        if (ReadZip64End(endsAt) is { } large)
        {
            if ((count != ushort.MaxValue && count != large.Count) || (length != See64 && length != large.Length) || (start != See64 && start != large.Start))
                throw new ZipRefusedException(T("Its two ends, for large files and for small, contradict each other. Zip the folder anew."));
            (count, start, length, endsAt) = large;
        }
        if (start < 0 || length < 0 || count < 0 || start + length != endsAt)
            throw new ZipRefusedException(T("Something lies before, between or behind its parts that is no part of a zip, or its list of files is not where it says. Zip the folder anew."));
        return (count, start, length);
    }

    /// <summary>The end record's place in the file's tail: the one whose comment reaches exactly to the end of the file.</summary>
    private static int FindEnd(byte[] tail)
    {
        var found = -1;
        for (var at = tail.Length - EndLength; at >= 0; at--)
        {
            if (Int(tail, at) != EndMark || at + EndLength + Short(tail, at + 20) != tail.Length)
                continue;
            if (found >= 0)
                throw new ZipRefusedException(T("It has two ends, so it can be read in two ways. Zip the folder anew."));
            found = at;
        }
        return found >= 0 ? found : throw new InvalidDataException();
    }

    /// <summary>The end record for large files, where there is one before the end at <paramref name="endAt"/>; some programs always write it.</summary>
    private (long Count, long Start, long Length, long EndsAt)? ReadZip64End(long endAt)
    {
        var locatorAt = endAt - LocatorLength;
        var locator = locatorAt < 0 ? [] : Read(locatorAt, LocatorLength);
        if (locator.Length == 0 || Int(locator, 0) != Zip64LocatorMark)
            return null;
        var recordAt = Long(locator, 8);
        if (recordAt != locatorAt - Zip64EndLength)
            throw new ZipRefusedException(T("Its end for large files is not where it says. Zip the folder anew."));
        var record = Read(recordAt, Zip64EndLength);
        if (Int(record, 0) != Zip64EndMark || Long(record, 24) != Long(record, 32))
            throw new ZipRefusedException(T("Its end for large files contradicts itself. Zip the folder anew."));
        return (Long(record, 32), Long(record, 48), Long(record, 40), recordAt);
    }

    private List<Entry> ReadList(long count, long start, long length)
    {
        var entries = new List<Entry>((int)count);
        var at = start;
        for (var i = 0; i < count; i++)
        {
            if (at + CentralLength > start + length)
                throw new InvalidDataException();
            var fixedPart = Read(at, CentralLength);
            if (Int(fixedPart, 0) != CentralMark)
                throw new InvalidDataException();
            int nameLength = Short(fixedPart, 28), extraLength = Short(fixedPart, 30);
            if (nameLength > LongestName)
                throw new ZipRefusedException(T($"The name of its file {i + 1:N0} has {nameLength:N0} bytes ({FolderRules.Shown(Encoding.UTF8.GetString(Read(at + CentralLength, LongestNameShown)))}…); no system takes more than {PortablePath.MaxStored:N0} letters. Shorten it, or use fewer folders, and zip the folder anew."));
            var commentLength = Short(fixedPart, 32);
            if (commentLength > LongestBeside || extraLength > LongestExtra)
                throw new ZipRefusedException(T($"{FolderRules.Shown(Encoding.UTF8.GetString(Read(at + CentralLength, nameLength)))} carries {Math.Max((int)commentLength, extraLength):N0} bytes beside its name in the zip’s list; this shelf takes no more than {LongestBeside:N0}. Zip the folder anew, without comments."));
            var rest = Read(at + CentralLength, nameLength + extraLength);
            entries.Add(EntryOf(fixedPart, rest[..nameLength], rest.AsSpan(nameLength)));
            at += CentralLength + nameLength + extraLength + commentLength;
        }
        return at == start + length
            ? entries
            : throw new ZipRefusedException(T("Its list of files is longer or shorter than it says. Zip the folder anew."));
    }

    private static Entry EntryOf(ReadOnlySpan<byte> central, byte[] name, ReadOnlySpan<byte> extra)
    {
        long packed = Int(central, 20), size = Int(central, 24), start = Int(central, 42);
        var large = Zip64Field(extra);
        // 4.5.3: only the fields that say "see there" are in it, in this order.
        foreach (var field in new[] { 0, 1, 2 })
        {
            ref var value = ref field == 0 ? ref size : ref field == 1 ? ref packed : ref start;
            if (value != See64 || large.Length == 0)
                continue;
            if (large.Length < 8)
                throw new InvalidDataException();
            value = Long(large, 0);
            large = large[8..];
        }
        return new Entry(name, Short(central, 8), Short(central, 10), Int(central, 16), packed, size, start);
    }

    private static ReadOnlySpan<byte> Zip64Field(ReadOnlySpan<byte> extra)
    {
        while (extra.Length >= 4)
        {
            var length = Short(extra, 2);
            if (length > extra.Length - 4)
                return [];
            if (Short(extra, 0) == 0x0001)
                return extra.Slice(4, length);
            extra = extra[(4 + length)..];
        }
        return [];
    }

    private void GuardLocals(List<Entry> entries, long listStart)
    {
        entries.Sort((a, b) => a.Start.CompareTo(b.Start));
        var free = 0L;
        for (var i = 0; i < entries.Count; i++)
        {
            var entry = entries[i];
            var next = i + 1 < entries.Count ? entries[i + 1].Start : listStart;
            if (entry.Start < free || entry.Start < 0 || entry.PackedSize < 0 || entry.Size < 0)
                throw new ZipRefusedException(T($"{entry.Path} lies in the same bytes as another file of the zip. Zip the folder anew."));
            free = GuardLocal(entry, next);
            // A first entry may start later in the file of a self-unpacking program; such a one is no plain zip.
            if (i == 0 && entry.Start != 0)
                throw new ZipRefusedException(T("Something lies before its first file: it may be a program that unpacks itself. Send a plain .zip."));
        }
    }

    /// <summary>Where the entry's data ends, which must not be past <paramref name="next"/>.</summary>
    private long GuardLocal(Entry entry, long next)
    {
        if (next - entry.Start < LocalLength)
            throw new ZipRefusedException(T($"{entry.Path} lies in the same bytes as another file of the zip. Zip the folder anew."));
        var local = Read(entry.Start, LocalLength);
        if (Int(local, 0) != LocalMark)
            throw new ZipRefusedException(T($"{entry.Path} is not where the zip’s list says. The zip may be cut or damaged; zip the folder anew."));
        int nameLength = Short(local, 26), extraLength = Short(local, 28);
        var rest = Read(entry.Start + LocalLength, nameLength + extraLength);
        var streamed = (entry.Flags & HasDescriptor) != 0;
        var agrees = rest.AsSpan(0, nameLength).SequenceEqual(entry.Name)
            && Short(local, 8) == entry.Method
            && ((Short(local, 6) ^ entry.Flags) & HasDescriptor) == 0
            && (streamed || (Int(local, 14) == entry.Crc && SizesAgree(local, rest.AsSpan(nameLength), entry)));
        if (!agrees)
            throw new ZipRefusedException(T($"{entry.Path} is described in two ways in the zip (its name, size or checksum differ). Zip the folder anew."));
        var dataStart = entry.Start + LocalLength + nameLength + extraLength;
        // Compared by what is left: a 64-bit size near its end would wrap round in a sum.
        return entry.PackedSize <= next - dataStart
            ? dataStart + entry.PackedSize
            : throw new ZipRefusedException(T($"{entry.Path} is said to be longer than there is room for: its size in the zip is wrong, or it lies in the same bytes as another file. Zip the folder anew."));
    }

    private static bool SizesAgree(ReadOnlySpan<byte> local, ReadOnlySpan<byte> extra, Entry entry)
    {
        long packed = Int(local, 18), size = Int(local, 22);
        var large = Zip64Field(extra);
        // 4.5.3: here both are in it.
        if (large.Length >= 16 && (size == See64 || packed == See64))
            (size, packed) = (Long(large, 0), Long(large, 8));
        return packed == entry.PackedSize && size == entry.Size;
    }

    private byte[] Read(long at, int length)
    {
        if (at < 0 || at + length > zip.Length)
            throw new InvalidDataException();
        var bytes = new byte[length];
        zip.Position = at;
        zip.ReadExactly(bytes);
        return bytes;
    }

    private static ushort Short(ReadOnlySpan<byte> bytes, int at) => BinaryPrimitives.ReadUInt16LittleEndian(bytes[at..]);

    private static uint Int(ReadOnlySpan<byte> bytes, int at) => BinaryPrimitives.ReadUInt32LittleEndian(bytes[at..]);

    private static long Long(ReadOnlySpan<byte> bytes, int at) => BinaryPrimitives.ReadInt64LittleEndian(bytes[at..]);
}
