using System.Buffers.Binary;
using System.IO.Compression;
using System.Text;
using LibraryShelf.Core.Intake;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

/// <summary>
/// Zips that lie about themselves: each is refused with the file's name and the reason, and the draft stays. Offsets of the fields
/// are APPNOTE 6.3.10's: local header 4.3.7, list entry 4.3.12, end 4.3.16, end for large files 4.3.14 and 4.3.15.
/// </summary>
public sealed class HostileZipTests : IDisposable
{
    private static readonly byte[] A = Bytes("the kettle, low");
    private static readonly byte[] B = Bytes("the kettle, high");
    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    /// <summary>What is done to a good zip of a.wav and b.wav, and words of the answer.</summary>
    public static TheoryData<string, Func<byte[], byte[]>, string> Lies() => new()
    {
        { "size too small", z => Both(z, "b.wav", local: 22, list: 24, 3), "b.wav" },
        { "size too large", z => Both(z, "b.wav", local: 22, list: 24, 9999), "b.wav" },
        { "packed size too large", z => Both(z, "b.wav", local: 18, list: 20, 9999), "b.wav is said to be longer" },
        { "packed size of 64 bits too large", z => WithLargePackedSize(z, "a.wav", long.MaxValue), "a.wav is said to be longer" },
        { "packed size of 64 bits below zero", z => WithLargePackedSize(z, "a.wav", -1), "a.wav lies in the same bytes" },
        { "packed size too small", z => Both(z, "b.wav", local: 18, list: 20, 2), "b.wav" },
        { "local size differs", z => Local(z, "b.wav", 22, 3), "b.wav is described in two ways" },
        { "local name differs", z => Patch(z, Find(z, 0x04034b50, "b.wav") + 30, "c.wav"u8), "b.wav is described in two ways" },
        { "local checksum differs", z => Local(z, "a.wav", 14, 1), "a.wav is described in two ways" },
        { "local method differs", z => Patch(z, Find(z, 0x04034b50, "a.wav") + 8, [12, 0]), "a.wav is described in two ways" },
        { "unknown method", z => Patch(Patch(z, Find(z, 0x04034b50, "a.wav") + 8, [12, 0]), Find(z, 0x02014b50, "a.wav") + 10, [12, 0]), "a.wav can’t be unpacked" },
        { "encrypted", z => Patch(Patch(z, Find(z, 0x04034b50, "a.wav") + 6, [1, 8]), Find(z, 0x02014b50, "a.wav") + 8, [1, 8]), "a.wav is encrypted" },
        { "overlapping", z => List(z, "b.wav", 42, 0), "in the same bytes" },
        { "overlapping in part", z => List(z, "b.wav", 42, 10), "in the same bytes" },
        { "points nowhere", z => List(z, "b.wav", 42, 54), "b.wav is not where" },
        { "points behind the end", z => List(z, "b.wav", 42, 1_000_000), "b.wav lies in the same bytes" },
        { "link", z => List(z, "a.wav", 38, 0xA1FF0000), "a.wav is a link or a device" },
        { "pipe", z => List(z, "a.wav", 38, 0x11FF0000), "a.wav is a link or a device" },
        { "character device", z => List(z, "a.wav", 38, 0x21FF0000), "a.wav is a link or a device" },
        { "block device", z => List(z, "a.wav", 38, 0x61FF0000), "a.wav is a link or a device" },
        { "socket", z => List(z, "a.wav", 38, 0xC1FF0000), "a.wav is a link or a device" },
        { "bytes before", z => [.. "MZ program"u8, .. z], "Something lies before" },
        { "bytes behind", z => [.. z, 1, 2, 3], "can’t be read as a zip" },
        { "two ends", z => [.. Patch(z, z.Length - 2, [22, 0]), .. z[^22..]], "two ends" },
        { "count too small", z => Patch(Patch(z, z.Length - 14, [1, 0]), z.Length - 12, [1, 0]), "longer or shorter" },
        { "count too large", z => Patch(Patch(z, z.Length - 14, [9, 0]), z.Length - 12, [9, 0]), "can’t be read as a zip" },
        { "part of several", z => Patch(z, z.Length - 18, [1, 0]), "one part of several" },
        { "large end elsewhere", z => WithLargeEnd(z, recordAt: 5, count: 2), "not where it says" },
        { "large end of another count", z => WithLargeEnd(z, recordAt: null, count: 3), "contradict each other" },
        { "large end of a monstrous count", z => WithLargeEnd(Patch(Patch(z, z.Length - 14, [255, 255]), z.Length - 12, [255, 255]), recordAt: null, count: long.MaxValue), "entries" },
        { "large end of a negative count", z => WithLargeEnd(Patch(Patch(z, z.Length - 14, [255, 255]), z.Length - 12, [255, 255]), recordAt: null, count: -1), "Something lies before, between or behind" },
        { "name that is no UTF-8", z => Patch(Patch(z, Find(z, 0x04034b50, "a.wav") + 30, [0xFF]), Find(z, 0x02014b50, "a.wav") + 46, [0xFF]), "not readable as text" },
        { "comment of an entry too long", z => WithBeside(z, "a.wav", field: 32, 1025), "a.wav carries 1,025 bytes beside its name" },
        { "extra fields too long", z => WithBeside(z, "a.wav", field: 30, 5121), "a.wav carries 5,121 bytes beside its name" },
        { "nothing", _ => Zip(), "holds no files" },
        { "only folders", _ => Zip(("Kettle/", []), ("Kettle/low/", [])), "holds no files" },
        { "no zip", _ => Bytes("RIFF, but no zip at all, and long enough to look at"), "can’t be read as a zip" },
        { "cut", z => z[..^40], "can’t be read as a zip" },
    };

    [Theory, MemberData(nameof(Lies), DisableDiscoveryEnumeration = true)]
    public async Task A_zip_that_lies_is_refused_and_the_draft_stays(string what, Func<byte[], byte[]> alter, string words)
    {
        await bench.SendAsync("old.wav", B);
        var (before, stored) = (await bench.DraftAsync(), StoredBytes());
        var id = await SentAsync(alter(Zip(("a.wav", A), ("b.wav", B))));
        Assert.True(await bench.UnpackAsync(id) is UnpackOutcome.Refused, what);
        var trouble = (await bench.ReleaseAsync()).Trouble!;
        Assert.Contains("kettle.zip", trouble, StringComparison.Ordinal);
        Assert.Contains(words, trouble, StringComparison.Ordinal);
        Assert.Equal(before, await bench.DraftAsync());
        // Files that came out whole before the lie was met are without a row, and collected; they are never more than the zip itself holds.
        Assert.InRange(StoredBytes() - stored, 0, A.Length + B.Length);
    }

    /// <summary>As long as may be: 1,024 of a comment; and beside the longest name told twice, as some programs do.</summary>
    [Theory, InlineData(32, 1024), InlineData(30, 5120)]
    public async Task What_stands_beside_a_name_within_bounds_is_taken(int field, int length)
    {
        var id = await SentAsync(WithBeside(Zip(("a.wav", A), ("b.wav", B)), "a.wav", field, length));
        Assert.IsType<UnpackOutcome.Unpacked>(await bench.UnpackAsync(id));
    }

    [Fact]
    public async Task A_name_longer_than_any_system_takes_is_refused_before_the_list_is_kept()
    {
        var name = new string('k', 5000) + ".wav";
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(await SentAsync(Zip(("a.wav", A), (name, B)))));
        var trouble = (await bench.ReleaseAsync()).Trouble!;
        Assert.Contains("The name of its file 2 has 5,004 bytes (kkkk", trouble, StringComparison.Ordinal);
        Assert.Equal(0, StoredBytes());
    }

    [Fact]
    public async Task A_zip_far_larger_than_a_version_may_be_is_not_begun()
    {
        bench.Settings.Intake.MaxReleaseBytes = 1000;
        var refused = Assert.IsType<StartUploadOutcome.TooLarge>(await bench.StartAsync("kettle.zip", 4000, null, UploadKind.Zip));
        Assert.Contains("kettle.zip has 4,000 bytes", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_large_end_that_is_right_is_taken()
    {
        Assert.IsType<UnpackOutcome.Unpacked>(await bench.UnpackAsync(await SentAsync(WithLargeEnd(Zip(("a.wav", A), ("b.wav", B)), null, 2))));
        Assert.Equal(["a.wav", "b.wav"], (await bench.ManifestAsync()).Keys.Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task A_bomb_is_stopped_by_what_comes_out_not_by_what_it_says()
    {
        bench.Settings.Intake.MaxReleaseBytes = 1 << 20;
        // 64 MB of nothing in some 64 KB, said to be 15 bytes.
        var zip = Both(Zip(("a.wav", A), ("bomb.wav", new byte[64 << 20])), "bomb.wav", local: 22, list: 24, 15);
        var before = GC.GetTotalAllocatedBytes();
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(await SentAsync(zip)));
        Assert.Contains("bomb.wav", (await bench.ReleaseAsync()).Trouble!, StringComparison.Ordinal);
        Assert.InRange(GC.GetTotalAllocatedBytes() - before, 0, 48L << 20);
        var honest = Zip(("bomb.wav", new byte[64 << 20]));
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(await SentAsync(honest)));
        Assert.Contains("bomb.wav unfolds to more", (await bench.ReleaseAsync()).Trouble!, StringComparison.Ordinal);
        Assert.InRange(StoredBytes(), 0, 1 << 20);
    }

    [Fact]
    public async Task More_files_than_the_shelf_takes_are_refused_before_any_is_unpacked()
    {
        bench.Settings.Intake.MaxFiles = 3;
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(await SentAsync(Zip([.. Enumerable.Range(0, 4).Select(i => ($"{i}.wav", A))]))));
        Assert.Contains("4 files", (await bench.ReleaseAsync()).Trouble!, StringComparison.Ordinal);
        Assert.Equal(0, StoredBytes());
    }

    private long StoredBytes() => new DirectoryInfo(bench.Paths.Blobs) is { Exists: true } folder
        ? folder.EnumerateFiles("*", SearchOption.AllDirectories).Sum(f => f.Length) : 0;

    private async Task<string> SentAsync(byte[] zip)
    {
        var id = await bench.StartedAsync("kettle.zip", zip.Length, null, UploadKind.Zip);
        Assert.True(Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 0, zip)).Unpack);
        return id;
    }

    private static byte[] Zip(params (string Path, byte[] Bytes)[] entries)
    {
        using var stream = new MemoryStream();
        using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true))
            foreach (var (path, bytes) in entries)
            {
                using var entry = zip.CreateEntry(path).Open();
                entry.Write(bytes);
            }
        return stream.ToArray();
    }

    /// <summary>Where the record of this kind for this path begins.</summary>
    private static int Find(byte[] zip, uint mark, string path)
    {
        var name = Encoding.UTF8.GetBytes(path);
        var nameAt = mark == 0x04034b50 ? 30 : 46;
        for (var at = 0; at + nameAt + name.Length <= zip.Length; at++)
            if (BinaryPrimitives.ReadUInt32LittleEndian(zip.AsSpan(at)) == mark && zip.AsSpan(at + nameAt, name.Length).SequenceEqual(name))
                return at;
        throw new InvalidOperationException(path);
    }

    private static byte[] Patch(byte[] zip, int at, ReadOnlySpan<byte> bytes)
    {
        var altered = zip.ToArray();
        bytes.CopyTo(altered.AsSpan(at));
        return altered;
    }

    private static byte[] Number(uint value)
    {
        var bytes = new byte[4];
        BinaryPrimitives.WriteUInt32LittleEndian(bytes, value);
        return bytes;
    }

    private static byte[] Local(byte[] zip, string path, int field, uint value) => Patch(zip, Find(zip, 0x04034b50, path) + field, Number(value));

    private static byte[] List(byte[] zip, string path, int field, uint value) => Patch(zip, Find(zip, 0x02014b50, path) + field, Number(value));

    private static byte[] Both(byte[] zip, string path, int local, int list, uint value) => List(Local(zip, path, local, value), path, list, value);

    /// <summary>The same zip with an end for large files before its end, which some programs always write.</summary>
    /// <summary>The list gives a file's packed size in its Zip64 field (APPNOTE 4.5.3), and says that the sizes follow the data (bit 3).</summary>
    private static byte[] WithLargePackedSize(byte[] zip, string name, long size)
    {
        byte[] z = [.. zip];
        int local = Find(z, 0x04034b50, name), list = Find(z, 0x02014b50, name);
        z[local + 6] |= 8;
        z[list + 8] |= 8;
        z = Patch(z, list + 20, [255, 255, 255, 255]);
        var (nameLength, extraLength) = (BitConverter.ToUInt16(z, list + 28), BitConverter.ToUInt16(z, list + 30));
        z = Patch(z, list + 30, BitConverter.GetBytes((ushort)(extraLength + 12)));
        var end = z.Length - 22;
        z = Patch(z, end + 12, BitConverter.GetBytes(BitConverter.ToUInt32(z, end + 12) + 12));
        var at = list + 46 + nameLength;
        return [.. z[..at], 1, 0, 8, 0, .. BitConverter.GetBytes(size), .. z[at..]];
    }

    /// <summary>The list's entry with a comment (field 32) or extra fields (30) of this many bytes; APPNOTE 4.5.1 for what one looks like.</summary>
    private static byte[] WithBeside(byte[] zip, string path, int field, int length)
    {
        var at = Find(zip, 0x02014b50, path);
        var z = Patch(zip, at + field, BitConverter.GetBytes((ushort)length));
        z = Patch(z, z.Length - 10, Number(BitConverter.ToUInt32(z, z.Length - 10) + (uint)length));
        var behind = at + 46 + BitConverter.ToUInt16(z, at + 28) + (field == 32 ? BitConverter.ToUInt16(zip, at + 30) : 0);
        byte[] one = [0x55, 0x55, .. BitConverter.GetBytes((ushort)(length - 4)), .. new byte[length - 4]];
        return [.. z[..behind], .. one, .. z[behind..]];
    }

    private static byte[] WithLargeEnd(byte[] zip, long? recordAt, long count)
    {
        var end = zip[^22..];
        using var stream = new MemoryStream();
        using var writer = new BinaryWriter(stream);
        writer.Write(zip, 0, zip.Length - 22);
        writer.Write(0x06064b50u);
        writer.Write(44L);
        writer.Write(0x002D002Du);
        writer.Write(0L);
        writer.Write(count);
        writer.Write(count);
        writer.Write((long)BinaryPrimitives.ReadUInt32LittleEndian(end.AsSpan(12)));
        writer.Write((long)BinaryPrimitives.ReadUInt32LittleEndian(end.AsSpan(16)));
        writer.Write(0x07064b50u);
        writer.Write(0u);
        writer.Write(recordAt ?? zip.Length - 22);
        writer.Write(1u);
        writer.Write(end);
        return stream.ToArray();
    }
}
