using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>A WAV's fmt chunk: WAVEFORMATEX, or WAVE_FORMAT_EXTENSIBLE with its tail.</summary>
internal static class FmtChunk
{
    /// <summary>Bytes worth reading of a fmt chunk.</summary>
    public const int MaxLength = 4096;

    /// <summary>Bytes of a fmt chunk with WAVE_FORMAT_EXTENSIBLE's tail.</summary>
    private const int ExtensibleLength = 40;

    // Registered format tags: mmreg.h. The last is followed by a sub-format's GUID whose first two bytes are again a tag.
    private const int TagPcm = 1, TagFloat = 3, TagExtensible = 0xFFFE;

    private static readonly byte[] SubFormatTail = [0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71];

    /// <summary>The format, or in words why these bytes are none that is read here.</summary>
    public static (SampleFormat? Format, RecordingTrouble Trouble, string Words) Parse(ReadOnlySpan<byte> fmt)
    {
        if (fmt.Length < 16)
            return (null, RecordingTrouble.Broken, T("its format chunk is too short"));
        var tag = BinaryPrimitives.ReadUInt16LittleEndian(fmt);
        int channels = BinaryPrimitives.ReadUInt16LittleEndian(fmt[2..]);
        var rate = BinaryPrimitives.ReadUInt32LittleEndian(fmt[4..]);
        int frameBytes = BinaryPrimitives.ReadUInt16LittleEndian(fmt[12..]);
        int bits = BinaryPrimitives.ReadUInt16LittleEndian(fmt[14..]);
        var validBits = bits;
        uint? speakers = null;
        if (tag == TagExtensible && fmt.Length >= ExtensibleLength && fmt[26..40].SequenceEqual(SubFormatTail))
        {
            tag = BinaryPrimitives.ReadUInt16LittleEndian(fmt[24..]);
            int valid = BinaryPrimitives.ReadUInt16LittleEndian(fmt[18..]);
            validBits = valid is > 0 && valid <= bits ? valid : bits;
            speakers = BinaryPrimitives.ReadUInt32LittleEndian(fmt[20..]);
        }
        if (tag is not (TagPcm or TagFloat))
            return (null, RecordingTrouble.NotRead, T($"its coding (WAV format tag {tag}) is not read yet"));
        if (channels == 0 || rate is 0 or > SampleFormat.MaxSampleRate || frameBytes == 0 || frameBytes % channels != 0)
            return (null, RecordingTrouble.Broken, T($"its format chunk makes no sense ({channels} channels, {rate} Hz, {frameBytes} bytes a frame)"));
        if (channels > SampleFormat.MaxChannels)
            return (null, RecordingTrouble.NotRead, T($"it has {channels} channels; up to {SampleFormat.MaxChannels} are read"));
        if (CodingOf(tag == TagFloat, frameBytes / channels, bits) is not { } coding)
            return (null, RecordingTrouble.Broken, T($"its format chunk contradicts itself ({bits} bits in {frameBytes / channels} bytes)"));
        return (new SampleFormat(coding, channels, (int)rate, validBits, speakers), RecordingTrouble.None, "");
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
