using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>Reads an AIFF or AIFF-C stream whose samples are plain numbers.</summary>
/// <param name="stream">Stands just behind the twelve bytes that <see cref="FileMagic"/> has looked at.</param>
/// <param name="claimedFormSize">The size field of those twelve bytes.</param>
/// <param name="isAiffC">The form is AIFC.</param>
internal sealed class AiffReader(Stream stream, long claimedFormSize, bool isAiffC) : SoundFile
{
    /// <summary>What writers to a pipe leave in SSND's size (sox); the frames then last until the end. ffmpeg leaves 0 there and in FORM's.</summary>
    private const long UnknownToSox = 0x7F000008;

    private readonly IffChunks chunks = new(stream, isBigEndian: true);
    private CommChunk? comm;
    private bool sizeUnknown;
    private byte[] bytes = [];
    private IReadOnlyList<(int Id, long Frame)>? marks;
    private AiffInstChunk? inst;

    public override bool GoToSamples()
    {
        while (chunks.Next() is { } chunk)
        {
            if (chunk.Id != "SSND")
                TakeSmallChunk(chunk);
            else if (comm is not null)
                return Begin(chunk);
            else
                return Fail(RecordingTrouble.NotRead, T("AIFF files whose samples come before their format are not read"));
            if (Trouble != RecordingTrouble.None)
                return false;
        }
        if (chunks.EndedEarly)
            return Fail(RecordingTrouble.CutShort, T("the file ends before its samples begin"));
        // A sound without a frame may leave the chunk out (AIFF 1989, "Sound Data Chunk").
        return comm?.ClaimedFrames == 0 || Fail(RecordingTrouble.Broken, T("it holds no samples (no SSND chunk)"));
    }

    public override int ReadBlock(Span<double> samples)
    {
        var got = chunks.Read(bytes);
        var frames = bytes.AsSpan(0, got - got % Format!.BytesPerFrame);
        if (!comm!.IsLittleEndian)
            SampleDecoder.Reverse(frames, Format.BytesPerSample);
        Hear(frames);
        return SampleDecoder.Decode(Format.Coding, frames, samples);
    }

    public override void Finish(long frames)
    {
        if (chunks.EndedEarly && !sizeUnknown)
            Fail(RecordingTrouble.CutShort, T("the file ends in the middle of its samples"));
        while (!chunks.EndedEarly && chunks.Next() is { } chunk)
            TakeSmallChunk(chunk);
        if (Trouble != RecordingTrouble.None || sizeUnknown)
            return;
        if (comm!.ClaimedFrames > frames)
            Fail(RecordingTrouble.CutShort, T($"it says that it holds {comm.ClaimedFrames} frames"));
        else if (claimedFormSize > chunks.Position + "AIFF".Length + (chunks.EndedEarly ? 0 : 1))
            Fail(RecordingTrouble.CutShort, T("its samples are whole, but the file ends before the end it claims"));
    }

    public override RecordingFacts Describe(string container) => base.Describe(container) with
    {
        InstNote = inst?.Note,
        Loops = inst?.Resolve(marks ?? []) ?? [],
        Cues = marks is null ? [] : [.. marks.Select(m => m.Frame)],
    };

    /// <summary>SSND: how many bytes to leave out before the first frame, a block size that nobody uses, then frames.</summary>
    private bool Begin(ChunkHeader ssnd)
    {
        sizeUnknown = ssnd.ClaimedSize is uint.MaxValue or UnknownToSox || ssnd.ClaimedSize == 0 && claimedFormSize == 0;
        if (sizeUnknown)
            chunks.ClaimSize(long.MaxValue);
        var head = chunks.ReadAll(8);
        if (head.Length < 8)
            return Fail(chunks.EndedEarly ? RecordingTrouble.CutShort : RecordingTrouble.Broken, T("its SSND chunk is too short"));
        bytes = new byte[BlockFrames * Format!.BytesPerFrame];
        for (long offset = BinaryPrimitives.ReadUInt32BigEndian(head); offset > 0 && !chunks.EndedEarly;)
        {
            var passed = chunks.Read(bytes.AsSpan(0, (int)Math.Min(offset, bytes.Length)));
            if (passed == 0)
                return Fail(RecordingTrouble.Broken, T("its samples begin behind the end of their chunk"));
            offset -= passed;
        }
        return true;
    }

    private void TakeSmallChunk(ChunkHeader chunk)
    {
        switch (chunk.Id)
        {
            case "COMM" when comm is null:
                (comm, var trouble, var words) = CommChunk.Parse(chunks.ReadAll(CommChunk.MaxLength), isAiffC);
                Format = comm?.Format;
                if (trouble != RecordingTrouble.None)
                    Fail(trouble, words);
                break;
            case "MARK":
                marks ??= MarkChunk.Parse(chunks.ReadAll(MarkChunk.MaxLength));
                break;
            case "INST":
                inst ??= AiffInstChunk.Parse(chunks.ReadAll(AiffInstChunk.Length));
                break;
        }
    }
}
