using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

internal enum SampleCoding { Unsigned8, Integer16, Integer24, Integer32, Float32, Float64 }

/// <summary>What a fmt chunk says, checked. <see cref="ValidBits"/> may be fewer than the container's bits (left-justified).</summary>
internal sealed record WavFormat(SampleCoding Coding, int Channels, int SampleRate, int ValidBits)
{
    /// <summary>More channels than this are refused, which bounds a block's memory.</summary>
    public const int MaxChannels = 64;

    /// <summary>Bytes of a fmt chunk with WAVE_FORMAT_EXTENSIBLE's tail.</summary>
    private const int ExtensibleLength = 40;

    // Registered format tags: mmreg.h. The last is followed by a sub-format's GUID whose first two bytes are again a tag.
    private const int TagPcm = 1, TagFloat = 3, TagExtensible = 0xFFFE;

    private static readonly byte[] SubFormatTail = [0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71];

    public bool IsFloat => Coding is SampleCoding.Float32 or SampleCoding.Float64;

    public int BytesPerSample => Coding switch
    {
        SampleCoding.Unsigned8 => 1,
        SampleCoding.Integer16 => 2,
        SampleCoding.Integer24 => 3,
        SampleCoding.Integer32 or SampleCoding.Float32 => 4,
        _ => 8,
    };

    public int BytesPerFrame => BytesPerSample * Channels;

    /// <summary>The largest positive sample, as a share of full scale: 1 − 2^(1−bits) for whole numbers, 1 for float.</summary>
    public double FullScale => IsFloat ? 1 : 1 - Math.Pow(2, 1 - ValidBits);

    /// <summary>The format, or in words why these bytes are none that is read here.</summary>
    public static (WavFormat? Format, RecordingTrouble Trouble, string Words) Parse(ReadOnlySpan<byte> fmt)
    {
        if (fmt.Length < 16)
            return (null, RecordingTrouble.Broken, "its format chunk is too short");
        var tag = BinaryPrimitives.ReadUInt16LittleEndian(fmt);
        int channels = BinaryPrimitives.ReadUInt16LittleEndian(fmt[2..]);
        var rate = BinaryPrimitives.ReadUInt32LittleEndian(fmt[4..]);
        int frameBytes = BinaryPrimitives.ReadUInt16LittleEndian(fmt[12..]);
        int bits = BinaryPrimitives.ReadUInt16LittleEndian(fmt[14..]);
        var validBits = bits;
        if (tag == TagExtensible && fmt.Length >= ExtensibleLength && fmt[26..40].SequenceEqual(SubFormatTail))
        {
            tag = BinaryPrimitives.ReadUInt16LittleEndian(fmt[24..]);
            int valid = BinaryPrimitives.ReadUInt16LittleEndian(fmt[18..]);
            validBits = valid is > 0 && valid <= bits ? valid : bits;
        }
        if (tag is not (TagPcm or TagFloat))
            return (null, RecordingTrouble.NotRead, $"its coding (WAV format tag {tag}) is not read yet");
        if (channels == 0 || rate is 0 or > 10_000_000 || frameBytes == 0 || frameBytes % channels != 0)
            return (null, RecordingTrouble.Broken, $"its format chunk makes no sense ({channels} channels, {rate} Hz, {frameBytes} bytes a frame)");
        if (channels > MaxChannels)
            return (null, RecordingTrouble.NotRead, $"it has {channels} channels; up to {MaxChannels} are read");
        if (CodingOf(tag == TagFloat, frameBytes / channels, bits) is not { } coding)
            return (null, RecordingTrouble.Broken, $"its format chunk contradicts itself ({bits} bits in {frameBytes / channels} bytes)");
        return (new WavFormat(coding, channels, (int)rate, validBits), RecordingTrouble.None, "");
    }

    private static SampleCoding? CodingOf(bool isFloat, int bytes, int bits) => (isFloat, bytes) switch
    {
        (true, 4) when bits == 32 => SampleCoding.Float32,
        (true, 8) when bits == 64 => SampleCoding.Float64,
        (false, 1) when bits is > 0 and <= 8 => SampleCoding.Unsigned8,
        (false, 2) when bits is > 8 and <= 16 => SampleCoding.Integer16,
        (false, 3) when bits is > 16 and <= 24 => SampleCoding.Integer24,
        (false, 4) when bits is > 16 and <= 32 => SampleCoding.Integer32,
        _ => null,
    };
}
