using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// The records of a zip, after APPNOTE 6.3.10 (section numbers below are its) within ISO/IEC 21320-1:2015: stored entries,
/// UTF-8 names, no data descriptor, no comment, no encryption, one volume, version needed at most 4.5.
/// </summary>
internal static class ZipRecords
{
    /// <summary>A 32-bit field holding this says "look in the ZIP64 field", so a real value of this size needs ZIP64 too (4.4.1.4).</summary>
    public const long Zip64Size = 0xFFFFFFFF;
    /// <summary>The same for the 16-bit count of entries.</summary>
    public const int Zip64Count = 0xFFFF;

    public const int LocalLength = 30;
    public const int CentralLength = 46;
    private const int Zip64EndLength = 56;
    private const int Zip64LocatorLength = 20;
    private const int EndLength = 22;

    private const ushort Utf8Names = 1 << 11;
    private const ushort VersionStored = 10;
    private const ushort VersionZip64 = 45;
    private const ushort MadeOnUnix = (3 << 8) | VersionZip64;
    private const uint RegularFile0644 = 0x81A4u << 16;

    public static int LocalExtraLength(long size) => size >= Zip64Size ? 4 + 16 : 0;

    public static int CentralExtraLength(long size, long offset)
    {
        var fields = (size >= Zip64Size ? 16 : 0) + (offset >= Zip64Size ? 8 : 0);
        return fields == 0 ? 0 : 4 + fields;
    }

    public static bool NeedsZip64End(long count, long centralStart, long centralLength) =>
        count >= Zip64Count || centralStart >= Zip64Size || centralLength >= Zip64Size;

    public static int EndRecordsLength(long count, long centralStart, long centralLength) =>
        EndLength + (NeedsZip64End(count, centralStart, centralLength) ? Zip64EndLength + Zip64LocatorLength : 0);

    /// <summary>A local file header (4.3.7) with its name and, where needed, both ZIP64 sizes (4.5.3 wants both here).</summary>
    public static byte[] Local(string name, RecipeEntry entry, DateOnly dated, long offset)
    {
        var extra = LocalExtraLength(entry.Size);
        return Build(writer =>
        {
            writer.Write(0x04034b50);
            WriteCommon(writer, name, entry, dated, offset, extra);
            writer.Write(Encoding.UTF8.GetBytes(name));
            if (extra == 0)
                return;
            writer.Write((ushort)0x0001);
            writer.Write((ushort)(extra - 4));
            writer.Write(entry.Size);
            writer.Write(entry.Size);
        });
    }

    /// <summary>A central directory header (4.3.12); its ZIP64 field holds only what doesn't fit (4.5.3).</summary>
    public static byte[] Central(string name, RecipeEntry entry, DateOnly dated, long offset)
    {
        var extra = CentralExtraLength(entry.Size, offset);
        return Build(writer =>
        {
            writer.Write(0x02014b50);
            writer.Write(MadeOnUnix);
            WriteCommon(writer, name, entry, dated, offset, extra);
            writer.Write((ushort)0); // comment length
            writer.Write((ushort)0); // volume
            writer.Write((ushort)0); // internal attributes: not text
            writer.Write(RegularFile0644);
            writer.Write(Capped(offset));
            writer.Write(Encoding.UTF8.GetBytes(name));
            if (extra == 0)
                return;
            writer.Write((ushort)0x0001);
            writer.Write((ushort)(extra - 4));
            if (entry.Size >= Zip64Size)
            {
                writer.Write(entry.Size);
                writer.Write(entry.Size);
            }
            if (offset >= Zip64Size)
                writer.Write(offset);
        });
    }

    /// <summary>The end of central directory record (4.3.16), after the ZIP64 record and locator (4.3.14, 4.3.15) where needed.</summary>
    public static byte[] End(long count, long centralStart, long centralLength) => Build(writer =>
    {
        if (NeedsZip64End(count, centralStart, centralLength))
            WriteZip64End(writer, count, centralStart, centralLength);
        var cappedCount = (ushort)Math.Min(count, Zip64Count);
        writer.Write(0x06054b50);
        writer.Write(0u); // volume, and the volume the directory starts on
        writer.Write(cappedCount);
        writer.Write(cappedCount);
        writer.Write(Capped(centralLength));
        writer.Write(Capped(centralStart));
        writer.Write((ushort)0); // comment length
    });

    private static void WriteZip64End(BinaryWriter writer, long count, long centralStart, long centralLength)
    {
        writer.Write(0x06064b50);
        writer.Write((long)(Zip64EndLength - 12));
        writer.Write(MadeOnUnix);
        writer.Write(VersionZip64);
        writer.Write(0L); // volume, and the volume the directory starts on
        writer.Write(count);
        writer.Write(count);
        writer.Write(centralLength);
        writer.Write(centralStart);

        writer.Write(0x07064b50);
        writer.Write(0u); // volume of the record above
        writer.Write(centralStart + centralLength);
        writer.Write(1u); // volumes in all
    }

    /// <summary>The fields that both headers share, in the order they share. Both say the same version, so no reader finds them at odds.</summary>
    private static void WriteCommon(BinaryWriter writer, string name, RecipeEntry entry, DateOnly dated, long offset, int extra)
    {
        writer.Write(CentralExtraLength(entry.Size, offset) > 0 ? VersionZip64 : VersionStored);
        writer.Write(Utf8Names);
        writer.Write((ushort)0); // stored
        writer.Write((ushort)0); // midnight
        writer.Write((ushort)(((dated.Year - 1980) << 9) | (dated.Month << 5) | dated.Day));
        writer.Write(entry.Crc32);
        writer.Write(Capped(entry.Size));
        writer.Write(Capped(entry.Size));
        writer.Write((ushort)Encoding.UTF8.GetByteCount(name));
        writer.Write((ushort)extra);
    }

    private static uint Capped(long value) => (uint)Math.Min(value, Zip64Size);

    private static byte[] Build(Action<BinaryWriter> write)
    {
        using var bytes = new MemoryStream();
        using var writer = new BinaryWriter(bytes);
        write(writer);
        writer.Flush();
        return bytes.ToArray();
    }
}
