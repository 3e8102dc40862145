using System.Buffers.Binary;
using System.Text;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Tests.Setup.Demo.Sounds;

public sealed class WavFileTests
{
    [Fact]
    public void Writes_a_sample_as_three_little_endian_bytes_and_pads_the_chunk()
    {
        var file = WavFile.Write([1, -1, 0.5], 1, 48_000, 60, null);
        Assert.Equal("RIFF", Encoding.ASCII.GetString(file, 0, 4));
        Assert.Equal(file.Length - 8, BinaryPrimitives.ReadInt32LittleEndian(file.AsSpan(4)));
        Assert.Equal("data", Encoding.ASCII.GetString(file, 80, 4));
        Assert.Equal(9, BinaryPrimitives.ReadInt32LittleEndian(file.AsSpan(84)));
        // 8388607 = 2^23 - 1, and half of it rounded to the nearest step.
        Assert.Equal(new byte[] { 0xff, 0xff, 0x7f, 0x01, 0x00, 0x80, 0x00, 0x00, 0x40, 0x00 }, file[88..]);
    }

    // Offsets and the inclusive end: Microsoft, "New Multimedia Data Types and Data Techniques" (1994), Sample chunk;
    // the sample period at 48 kHz is 20833 ns.
    [Fact]
    public void Writes_the_unity_note_and_an_inclusive_loop()
    {
        var file = WavFile.Write(new double[4], 1, 48_000, 57, (1000, 1999));
        var chunk = file.AsSpan(36);
        Assert.Equal("smpl", Encoding.ASCII.GetString(chunk[..4]));
        Assert.Equal(60, BinaryPrimitives.ReadInt32LittleEndian(chunk[4..]));
        Assert.Equal(20_833, BinaryPrimitives.ReadInt32LittleEndian(chunk[(8 + 8)..]));
        Assert.Equal(57, BinaryPrimitives.ReadInt32LittleEndian(chunk[(8 + 12)..]));
        Assert.Equal(1, BinaryPrimitives.ReadInt32LittleEndian(chunk[(8 + 28)..]));
        Assert.Equal(1000, BinaryPrimitives.ReadInt32LittleEndian(chunk[(8 + 44)..]));
        Assert.Equal(1999, BinaryPrimitives.ReadInt32LittleEndian(chunk[(8 + 48)..]));
    }
}
