using System.Buffers.Binary;
using System.Text;

namespace LibraryShelf.Audio.Files;

/// <summary>
/// The COMM chunk of an AIFF or AIFF-C file: format and the frames it claims. Sources: "Audio Interchange File Format: AIFF" (Apple, 1989) and
/// "Audio Interchange File Format AIFF-C" (Apple, draft of 26 August 1991).
/// </summary>
internal sealed record CommChunk(SampleFormat Format, long ClaimedFrames, bool IsLittleEndian)
{
    /// <summary>Bytes worth reading of a COMM chunk; the name of the compression follows and says nothing more.</summary>
    public const int MaxLength = 64;

    /// <summary>The format, or in words why these bytes are none that is read here.</summary>
    public static (CommChunk? Comm, RecordingTrouble Trouble, string Words) Parse(ReadOnlySpan<byte> comm, bool isAiffC)
    {
        if (comm.Length < (isAiffC ? 22 : 18))
            return (null, RecordingTrouble.Broken, T("its COMM chunk is too short"));
        int channels = BinaryPrimitives.ReadUInt16BigEndian(comm);
        var frames = BinaryPrimitives.ReadUInt32BigEndian(comm[2..]);
        int bits = BinaryPrimitives.ReadUInt16BigEndian(comm[6..]);
        var rate = Extended(comm[8..18]);
        var kind = isAiffC ? Encoding.Latin1.GetString(comm[18..22]) : "NONE";
        if (kind is not ("NONE" or "twos" or "sowt" or "raw " or "in24" or "in32" or "fl32" or "FL32" or "fl64" or "FL64"))
            return (null, RecordingTrouble.NotRead, T($"its coding (AIFF-C “{kind.Trim()}”) is not read yet"));
        if (channels == 0 || !(rate >= 1 && rate <= SampleFormat.MaxSampleRate) || CodingOf(kind, bits) is not { } coding)
            return (null, RecordingTrouble.Broken, T($"its COMM chunk makes no sense ({channels} channels, {bits} bits, coding “{kind.Trim()}”)"));
        if (channels > SampleFormat.MaxChannels)
            return (null, RecordingTrouble.NotRead, T($"it has {channels} channels; up to {SampleFormat.MaxChannels} are read"));
        var format = new SampleFormat(coding, channels, (int)Math.Round(rate), 0);
        return (new CommChunk(format with { ValidBits = ValidBitsOf(format, kind, bits) }, frames, kind == "sowt"), RecordingTrouble.None, "");
    }

    /// <summary>Whole numbers stand left-justified in as many bytes as their bits need; signed, except "raw ".</summary>
    private static SampleCoding? CodingOf(string kind, int bits) => (kind, bits) switch
    {
        ("fl32" or "FL32", _) => SampleCoding.Float32,
        ("fl64" or "FL64", _) => SampleCoding.Float64,
        ("in24", _) => SampleCoding.Integer24,
        ("in32", _) => SampleCoding.Integer32,
        ("raw ", > 0 and <= 8) => SampleCoding.Unsigned8,
        ("raw ", _) => null,
        (_, > 0 and <= 8) => SampleCoding.Signed8,
        (_, > 8 and <= 16) => SampleCoding.Integer16,
        (_, > 16 and <= 24) => SampleCoding.Integer24,
        (_, > 24 and <= 32) => SampleCoding.Integer32,
        _ => null,
    };

    private static int ValidBitsOf(SampleFormat format, string kind, int bits)
    {
        var room = 8 * format.BytesPerSample;
        return format.IsFloat || kind is "in24" or "in32" || bits > room ? room : bits;
    }

    /// <summary>The 80-bit extended number of the 68881: sign and exponent in 16 bits, then 64 of mantissa whose first is before the point.</summary>
    private static double Extended(ReadOnlySpan<byte> bytes)
    {
        int head = BinaryPrimitives.ReadUInt16BigEndian(bytes);
        var mantissa = BinaryPrimitives.ReadUInt64BigEndian(bytes[2..]);
        return (head & 0x8000) != 0 ? -1 : Math.ScaleB(mantissa, (head & 0x7FFF) - 16383 - 63);
    }
}

/// <summary>The MARK chunk: numbered places between frames. A count, then id, position and a name padded to an even length.</summary>
internal static class MarkChunk
{
    public const int MaxMarks = 256;

    /// <summary>Bytes worth reading of a MARK chunk: six, and a name of up to 256, each.</summary>
    public const int MaxLength = 2 + MaxMarks * (6 + 256);

    public static IReadOnlyList<(int Id, long Frame)> Parse(ReadOnlySpan<byte> bytes)
    {
        var marks = new List<(int Id, long Frame)>();
        var claimed = bytes.Length < 2 ? 0 : BinaryPrimitives.ReadUInt16BigEndian(bytes);
        for (var at = 2; marks.Count < Math.Min(claimed, MaxMarks) && at + 7 <= bytes.Length;)
        {
            marks.Add((BinaryPrimitives.ReadInt16BigEndian(bytes[at..]), BinaryPrimitives.ReadUInt32BigEndian(bytes[(at + 2)..])));
            var nameAndLength = 1 + bytes[at + 6];
            at += 6 + nameAndLength + nameAndLength % 2;
        }
        return marks;
    }
}

/// <summary>
/// AIFF's INST chunk, twenty bytes: note, detune, keys, velocities, gain, then a sustain loop and a release loop, each a play mode (0 none, 1
/// forward, 2 to and fro) and two marks.
/// </summary>
internal sealed record AiffInstChunk(int? Note, IReadOnlyList<(int Mode, int From, int To)> Loops)
{
    public const int Length = 20;

    public static AiffInstChunk? Parse(ReadOnlySpan<byte> bytes) =>
        bytes.Length < Length ? null : new AiffInstChunk(bytes[0] <= 127 ? bytes[0] : null, [LoopAt(bytes[8..]), LoopAt(bytes[14..])]);

    /// <summary>
    /// The loops in frames. A mark stands before the frame of its number, so the last frame played is the one before the second mark.
    /// </summary>
    public IReadOnlyList<LoopPoints> Resolve(IReadOnlyList<(int Id, long Frame)> marks)
    {
        var loops = new List<LoopPoints>();
        foreach (var (mode, from, to) in Loops)
        {
            var (start, end) = (marks.Where(m => m.Id == from).ToList(), marks.Where(m => m.Id == to).ToList());
            if (mode is 1 or 2 && start.Count > 0 && end.Count > 0)
                loops.Add(new LoopPoints(start[0].Frame, end[0].Frame - 1, mode == 1 ? LoopKind.Forward : LoopKind.Alternating, 0));
        }
        return loops;
    }

    private static (int Mode, int From, int To) LoopAt(ReadOnlySpan<byte> loop) => (
        BinaryPrimitives.ReadInt16BigEndian(loop), BinaryPrimitives.ReadInt16BigEndian(loop[2..]), BinaryPrimitives.ReadInt16BigEndian(loop[4..]));
}
