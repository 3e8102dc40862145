using System.Buffers.Binary;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

/// <summary>
/// ZIP64 exactly where APPNOTE 6.3.10 asks for it (4.3.9, 4.4.1.4, 4.5.3): at 0xFFFFFFFF, which the old field can't tell from
/// "look elsewhere", and not one byte earlier. No content exists here, only sizes.
/// </summary>
public sealed class Zip64Tests
{
    private static readonly string Hash = new('0', 64);

    [Theory]
    [InlineData(0xFFFFFFFEL, false)]
    [InlineData(0xFFFFFFFFL, true)]
    [InlineData(0x100000000L, true)]
    public void A_size_moves_to_zip64_when_it_does_not_fit(long size, bool zip64)
    {
        var layout = new ArchiveLayout(new Recipe("", Recipe.Undated, [RecipeEntry.FromBlob("f", size, 7, Hash)]));
        var local = Read(layout, 0, 31 + (zip64 ? 20 : 0));
        Assert.Equal(zip64 ? 45 : 10, U16(local, 4));
        Assert.Equal(zip64 ? uint.MaxValue : (uint)size, U32(local, 18));
        Assert.Equal(zip64 ? uint.MaxValue : (uint)size, U32(local, 22));
        Assert.Equal(zip64 ? 20 : 0, U16(local, 28));
        if (zip64)
        {
            Assert.Equal((1, 16), (U16(local, 31), U16(local, 33)));
            Assert.Equal((size, size), (I64(local, 35), I64(local, 43)));
        }

        var central = Read(layout, local.Length + size, local.Length + size + 47 + (zip64 ? 20 : 0));
        Assert.Equal(0x02014b50u, U32(central, 0));
        Assert.Equal(zip64 ? 45 : 10, U16(central, 6));
        Assert.Equal(zip64 ? uint.MaxValue : (uint)size, U32(central, 20));
        Assert.Equal(zip64 ? 20 : 0, U16(central, 30));
        if (zip64)
            Assert.Equal((1, 16, size, size), (U16(central, 47), U16(central, 49), I64(central, 51), I64(central, 59)));
        // The directory itself starts past 4 GiB as soon as header and body are, so the end records follow their own rule.
        AssertEnd(layout, centralStart: local.Length + size, centralLength: central.Length, count: 1);
    }

    [Theory]
    [InlineData(0xFFFFFFFEL)]
    [InlineData(0xFFFFFFFFL)]
    [InlineData(0x100000000L)]
    public void An_offset_moves_to_zip64_when_it_does_not_fit(long offset)
    {
        // The first file's header is 31 bytes, and its body is short enough to need no ZIP64 itself.
        RecipeEntry[] entries = [RecipeEntry.FromBlob("f", offset - 31, 7, Hash), RecipeEntry.FromBlob("g", 1, 7, Hash)];
        var layout = new ArchiveLayout(new Recipe("", Recipe.Undated, entries));
        var zip64 = offset >= 0xFFFFFFFF;
        var second = offset + 32 + 47;
        var central = Read(layout, second, second + 47 + (zip64 ? 12 : 0));
        Assert.Equal(zip64 ? 45 : 10, U16(central, 6));
        Assert.Equal(1u, U32(central, 20)); // its size stays in its own field
        Assert.Equal(zip64 ? uint.MaxValue : (uint)offset, U32(central, 42));
        Assert.Equal(zip64 ? 12 : 0, U16(central, 30));
        if (zip64)
            Assert.Equal((1, 8, offset), (U16(central, 47), U16(central, 49), I64(central, 51)));
        AssertEnd(layout, centralStart: offset + 32, centralLength: 47 + central.Length, count: 2);
    }

    [Theory]
    [InlineData(0xFFFFFFFEL, false)]
    [InlineData(0xFFFFFFFFL, true)]
    [InlineData(0x100000000L, true)]
    public void The_directorys_start_moves_to_zip64_when_it_does_not_fit(long centralStart, bool zip64)
    {
        var layout = new ArchiveLayout(new Recipe("", Recipe.Undated, [RecipeEntry.FromBlob("f", centralStart - 31, 7, Hash)]));
        Assert.Equal(zip64, AssertEnd(layout, centralStart, centralLength: 47, count: 1));
    }

    [Theory]
    [InlineData(0xFFFE, false)]
    [InlineData(0xFFFF, true)]
    [InlineData(0x10000, true)]
    public void The_count_moves_to_zip64_when_it_does_not_fit(int count, bool zip64)
    {
        var layout = new ArchiveLayout(new Recipe("", Recipe.Undated,
            Enumerable.Range(0, count).Select(i => RecipeEntry.FromBytes($"{i:x5}", default))));
        Assert.Equal(zip64, AssertEnd(layout, centralStart: count * 35L, centralLength: count * 51L, count));
    }

    /// <summary>Reads the end records, holds them against what they should say, and tells whether ZIP64 records are there.</summary>
    private static bool AssertEnd(ArchiveLayout layout, long centralStart, long centralLength, int count)
    {
        var zip64 = centralStart >= 0xFFFFFFFF || centralLength >= 0xFFFFFFFF || count >= 0xFFFF;
        var end = Read(layout, centralStart + centralLength, layout.Length);
        Assert.Equal(zip64 ? 56 + 20 + 22 : 22, end.Length);
        if (zip64)
        {
            Assert.Equal((0x06064b50u, 44L), (U32(end, 0), I64(end, 4)));
            Assert.Equal((count, count, centralLength, centralStart), (I64(end, 24), I64(end, 32), I64(end, 40), I64(end, 48)));
            Assert.Equal((0x07064b50u, centralStart + centralLength, 1u), (U32(end, 56), I64(end, 64), U32(end, 72)));
        }
        var last = end[^22..];
        Assert.Equal(0x06054b50u, U32(last, 0));
        Assert.Equal((Math.Min(count, 0xFFFF), Math.Min(count, 0xFFFF)), (U16(last, 8), U16(last, 10)));
        Assert.Equal((uint)Math.Min(centralLength, uint.MaxValue), U32(last, 12));
        Assert.Equal((uint)Math.Min(centralStart, uint.MaxValue), U32(last, 16));
        Assert.Equal(0, U16(last, 20));
        return zip64;
    }

    private static byte[] Read(ArchiveLayout layout, long from, long to) =>
        layout.Slices(from, to).SelectMany(s => s.Entry is null ? s.Bytes.ToArray() : throw new InvalidOperationException("body")).ToArray();

    private static int U16(byte[] bytes, int at) => BinaryPrimitives.ReadUInt16LittleEndian(bytes.AsSpan(at));
    private static uint U32(byte[] bytes, int at) => BinaryPrimitives.ReadUInt32LittleEndian(bytes.AsSpan(at));
    private static long I64(byte[] bytes, int at) => BinaryPrimitives.ReadInt64LittleEndian(bytes.AsSpan(at));
}
