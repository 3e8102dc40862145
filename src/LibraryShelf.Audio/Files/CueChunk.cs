using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>
/// The `cue ` chunk: places in the recording, in frames. Layout: Multimedia Programming Interface and Data Specifications 1.0 (1991), "Cue
/// Points Chunk": a count, then 24 bytes each, of which the last four are dwSampleOffset.
/// </summary>
internal static class CueChunk
{
    /// <summary>More cues than this are ignored; the count in the file is not to be trusted.</summary>
    public const int MaxCues = 256;
    private const int HeadLength = 4, CueLength = 24;

    /// <summary>Bytes worth reading of a cue chunk.</summary>
    public const int MaxLength = HeadLength + MaxCues * CueLength;

    public static IReadOnlyList<long> Parse(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length < HeadLength)
            return [];
        var claimed = BinaryPrimitives.ReadUInt32LittleEndian(bytes);
        var count = (int)Math.Min(Math.Min(claimed, MaxCues), (bytes.Length - HeadLength) / CueLength);
        var cues = new long[count];
        for (var i = 0; i < count; i++)
            cues[i] = BinaryPrimitives.ReadUInt32LittleEndian(bytes[(HeadLength + i * CueLength + 20)..]);
        return cues;
    }
}
