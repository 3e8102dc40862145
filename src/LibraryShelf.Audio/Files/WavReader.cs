using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>
/// Reads a WAV, RF64 or BW64 stream forwards in blocks of whole frames. Size fields are only compared with what came: a file
/// that ends early is told by <see cref="Trouble"/>, not by an exception.
/// </summary>
internal sealed class WavReader
{
    /// <summary>Frames per block: 4,096 keeps a stereo block out of the large-object heap.</summary>
    public const int BlockFrames = 4096;

    /// <summary>"Unknown" in a 32-bit size field: RF64's mark for "see ds64", and what writers to a pipe leave behind.</summary>
    private const long UnknownSize = uint.MaxValue;

    /// <summary>Some writers count the eight bytes of the RIFF header in its size, wrongly.</summary>
    private const int SizeSlack = 8;
    private const int FmtLimit = 4096, Ds64Limit = 64;

    private readonly RiffChunks chunks;
    private readonly long claimedRiffSize;
    private long? ds64DataSize;
    private bool sizeUnknown;
    private byte[] bytes = [];

    /// <param name="stream">Stands just behind the twelve bytes that <see cref="FileMagic"/> has looked at.</param>
    /// <param name="claimedRiffSize">The size field of those twelve bytes.</param>
    public WavReader(Stream stream, long claimedRiffSize)
    {
        chunks = new RiffChunks(stream);
        this.claimedRiffSize = claimedRiffSize;
    }

    public WavFormat? Format { get; private set; }
    public RecordingTrouble Trouble { get; private set; }
    public string TroubleWords { get; private set; } = "";
    public SmplChunk? Smpl { get; private set; }
    public InstChunk? Inst { get; private set; }

    /// <summary>Walks to the samples; false when there are none that can be read, with the reason in <see cref="Trouble"/>.</summary>
    public bool GoToSamples()
    {
        while (chunks.Next() is { } chunk)
        {
            if (chunk.Id != "data")
                TakeSmallChunk(chunk);
            else if (Format is not null)
                return Begin(chunk);
            else
                return Fail(RecordingTrouble.Broken, "its samples come before its format");
            if (Trouble != RecordingTrouble.None)
                return false;
        }
        return Fail(chunks.EndedEarly ? RecordingTrouble.CutShort : RecordingTrouble.Broken, chunks.EndedEarly
            ? "the file ends before its samples begin"
            : "it holds no samples (no data chunk)");
    }

    /// <summary>Decodes the next whole frames, interleaved, at most <see cref="BlockFrames"/>; returns the number of samples, 0 at the end.</summary>
    public int ReadBlock(Span<double> samples)
    {
        var got = chunks.Read(bytes);
        return SampleDecoder.Decode(Format!.Coding, bytes.AsSpan(0, got - got % Format.BytesPerFrame), samples);
    }

    /// <summary>After the last block: says whether samples are missing, and reads the chunks behind them.</summary>
    public void Finish()
    {
        if (chunks.EndedEarly && !sizeUnknown)
            Fail(RecordingTrouble.CutShort, "the file ends in the middle of its samples");
        while (!chunks.EndedEarly && chunks.Next() is { } chunk)
            TakeSmallChunk(chunk);
        if (Trouble == RecordingTrouble.None && !sizeUnknown && EndsBeforeItsClaim())
            Fail(RecordingTrouble.CutShort, "its samples are whole, but the file ends before the end it claims");
    }

    private bool EndsBeforeItsClaim()
    {
        var missing = claimedRiffSize - (chunks.Position + "WAVE".Length);
        return claimedRiffSize != UnknownSize && missing > (chunks.EndedEarly ? 0 : SizeSlack);
    }

    private bool Begin(ChunkHeader data)
    {
        sizeUnknown = data.ClaimedSize == UnknownSize && ds64DataSize is null;
        if (data.ClaimedSize == UnknownSize)
            chunks.ClaimSize(ds64DataSize ?? long.MaxValue);
        bytes = new byte[BlockFrames * Format!.BytesPerFrame];
        return true;
    }

    private void TakeSmallChunk(ChunkHeader chunk)
    {
        switch (chunk.Id)
        {
            case "fmt ":
                (Format, var trouble, var words) = WavFormat.Parse(chunks.ReadAll(FmtLimit));
                if (trouble != RecordingTrouble.None)
                    Fail(trouble, words);
                break;
            case "ds64":
                TakeDs64(chunks.ReadAll(Ds64Limit));
                break;
            case "smpl":
                Smpl ??= SmplChunk.Parse(chunks.ReadAll(SmplChunk.MaxLength));
                break;
            case "inst":
                Inst ??= InstChunk.Parse(chunks.ReadAll(InstChunk.MaxLength));
                break;
        }
    }

    /// <summary>EBU Tech 3306: riffSize, dataSize, sampleCount as 64-bit little-endian numbers.</summary>
    private void TakeDs64(ReadOnlySpan<byte> ds64)
    {
        if (ds64.Length >= 16)
            ds64DataSize = (long)Math.Min(BinaryPrimitives.ReadUInt64LittleEndian(ds64[8..]), long.MaxValue - 1);
    }

    private bool Fail(RecordingTrouble trouble, string words)
    {
        Trouble = trouble;
        TroubleWords = words;
        return false;
    }
}
