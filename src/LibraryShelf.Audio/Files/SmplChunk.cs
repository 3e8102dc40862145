using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>
/// The smpl chunk: which note the recording is, and its loops. Layout: "New Multimedia Data Types and Data Techniques"
/// (Microsoft, 15 April 1994), section "Sample": 36 bytes, then 24 per loop.
/// </summary>
internal sealed record SmplChunk(int? Note, double Cents, IReadOnlyList<LoopPoints> Loops)
{
    /// <summary>More loops than this are ignored; the count in the file is not to be trusted.</summary>
    private const int MaxLoops = 64;
    private const int HeadLength = 36, LoopLength = 24;

    /// <summary>Bytes worth reading of a smpl chunk.</summary>
    public const int MaxLength = HeadLength + MaxLoops * LoopLength;

    /// <summary>Null when the chunk is too short to say anything.</summary>
    public static SmplChunk? Parse(ReadOnlySpan<byte> bytes)
    {
        if (bytes.Length < HeadLength)
            return null;
        var note = BinaryPrimitives.ReadUInt32LittleEndian(bytes[12..]);
        // A fraction of 0x80000000 is half a semitone up.
        var cents = BinaryPrimitives.ReadUInt32LittleEndian(bytes[16..]) / 4294967296.0 * 100;
        var claimed = BinaryPrimitives.ReadUInt32LittleEndian(bytes[28..]);
        var count = (int)Math.Min(Math.Min(claimed, MaxLoops), (bytes.Length - HeadLength) / LoopLength);
        var loops = new List<LoopPoints>(count);
        for (var i = 0; i < count; i++)
            loops.Add(ParseLoop(bytes.Slice(HeadLength + i * LoopLength, LoopLength)));
        return new SmplChunk(note <= 127 ? (int)note : null, cents, loops);
    }

    private static LoopPoints ParseLoop(ReadOnlySpan<byte> bytes) => new(
        BinaryPrimitives.ReadUInt32LittleEndian(bytes[8..]),
        BinaryPrimitives.ReadUInt32LittleEndian(bytes[12..]),
        BinaryPrimitives.ReadUInt32LittleEndian(bytes[4..]) switch
        {
            0 => LoopKind.Forward,
            1 => LoopKind.Alternating,
            2 => LoopKind.Backward,
            _ => LoopKind.Other,
        },
        BinaryPrimitives.ReadUInt32LittleEndian(bytes[20..]));
}
