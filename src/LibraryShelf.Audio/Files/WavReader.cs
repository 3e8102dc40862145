using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>Reads a WAV, RF64 or BW64 stream.</summary>
/// <param name="stream">Stands just behind the twelve bytes that <see cref="FileMagic"/> has looked at.</param>
/// <param name="claimedRiffSize">The size field of those twelve bytes.</param>
internal sealed class WavReader(Stream stream, long claimedRiffSize) : SoundFile
{
    /// <summary>"Unknown" in a 32-bit size field: RF64's mark for "see ds64", and what writers to a pipe leave behind (ffmpeg; then sox).</summary>
    private const long UnknownSize = uint.MaxValue, UnknownToSox = 0x7FFFF000;

    /// <summary>Some writers count the eight bytes of the RIFF header in its size, wrongly.</summary>
    private const int SizeSlack = 8;
    private const int Ds64Limit = 64;

    private readonly IffChunks chunks = new(stream);
    private long? ds64DataSize;
    private bool sizeUnknown, sizeNeverSet;
    private byte[] bytes = [];
    private SmplChunk? smpl;
    private InstChunk? inst;
    private IReadOnlyList<long>? cues;
    private string? description;

    public override bool GoToSamples()
    {
        while (chunks.Next() is { } chunk)
        {
            if (chunk.Id != "data")
                TakeSmallChunk(chunk);
            else if (Format is not null)
                return Begin(chunk);
            else
                return Fail(RecordingTrouble.Broken, T("its samples come before its format"));
            if (Trouble != RecordingTrouble.None)
                return false;
        }
        return Fail(chunks.EndedEarly ? RecordingTrouble.CutShort : RecordingTrouble.Broken, chunks.EndedEarly
            ? T("the file ends before its samples begin")
            : T("it holds no samples (no data chunk)"));
    }

    public override int ReadBlock(Span<double> samples)
    {
        var got = chunks.Read(bytes);
        var frames = bytes.AsSpan(0, got - got % Format!.BytesPerFrame);
        Hear(frames);
        return SampleDecoder.Decode(Format.Coding, frames, samples);
    }

    public override void Finish(long frames)
    {
        if (chunks.EndedEarly && !sizeUnknown)
            Fail(RecordingTrouble.CutShort, T("the file ends in the middle of its samples"));
        else if (sizeNeverSet && frames > 0)
            Fail(RecordingTrouble.CutShort, T("it was never finished: its size fields say 0, and many programs find it empty"));
        while (!chunks.EndedEarly && chunks.Next() is { } chunk)
            TakeSmallChunk(chunk);
        if (Trouble == RecordingTrouble.None && !sizeUnknown && EndsBeforeItsClaim())
            Fail(RecordingTrouble.CutShort, T("its samples are whole, but the file ends before the end it claims"));
    }

    public override RecordingFacts Describe(string container) => base.Describe(container) with
    {
        SmplNote = smpl?.Note,
        SmplCents = smpl?.Cents ?? 0,
        Loops = smpl?.Loops ?? [],
        InstNote = inst?.Note,
        Cues = cues ?? [],
        BextDescription = description ?? "",
    };

    private bool EndsBeforeItsClaim()
    {
        var missing = claimedRiffSize - (chunks.Position + "WAVE".Length);
        return claimedRiffSize != UnknownSize && missing > (chunks.EndedEarly ? 0 : SizeSlack);
    }

    private bool Begin(ChunkHeader data)
    {
        // A recorder that lost its power leaves both fields at 0.
        sizeNeverSet = data.ClaimedSize == 0 && claimedRiffSize == 0;
        var sizeElsewhere = data.ClaimedSize == UnknownSize && ds64DataSize is not null;
        sizeUnknown = !sizeElsewhere && (sizeNeverSet || data.ClaimedSize is UnknownSize or UnknownToSox);
        if (sizeElsewhere || sizeUnknown)
            chunks.ClaimSize(sizeElsewhere ? ds64DataSize!.Value : long.MaxValue);
        bytes = new byte[BlockFrames * Format!.BytesPerFrame];
        return true;
    }

    private void TakeSmallChunk(ChunkHeader chunk)
    {
        switch (chunk.Id)
        {
            case "fmt " when Format is null:
                (Format, var trouble, var words) = FmtChunk.Parse(chunks.ReadAll(FmtChunk.MaxLength));
                if (trouble != RecordingTrouble.None)
                    Fail(trouble, words);
                break;
            case "ds64":
                TakeDs64(chunks.ReadAll(Ds64Limit));
                break;
            case "smpl":
                smpl ??= SmplChunk.Parse(chunks.ReadAll(SmplChunk.MaxLength));
                break;
            case "inst":
                inst ??= InstChunk.Parse(chunks.ReadAll(InstChunk.MaxLength));
                break;
            case "cue ":
                cues ??= CueChunk.Parse(chunks.ReadAll(CueChunk.MaxLength));
                break;
            case "bext":
                description ??= BextChunk.Description(chunks.ReadAll(BextChunk.MaxLength));
                break;
        }
    }

    /// <summary>EBU Tech 3306: riffSize, dataSize, sampleCount as 64-bit little-endian numbers.</summary>
    private void TakeDs64(ReadOnlySpan<byte> ds64)
    {
        if (ds64.Length >= 16)
            ds64DataSize = (long)Math.Min(BinaryPrimitives.ReadUInt64LittleEndian(ds64[8..]), long.MaxValue - 1);
    }
}
