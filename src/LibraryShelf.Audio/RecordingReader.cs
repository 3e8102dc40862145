using System.Buffers.Binary;
using LibraryShelf.Audio.Files;
using LibraryShelf.Audio.Measures;

namespace LibraryShelf.Audio;

/// <summary>A block of whole frames, interleaved, full scale 1; valid only during the call.</summary>
public delegate void SampleBlock(ReadOnlySpan<double> interleaved, int channels);

/// <summary>Reads and measures one recording in one pass, in bounded memory.</summary>
public static class RecordingReader
{
    /// <summary>
    /// Reads <paramref name="stream"/> forwards to its end. Whatever is wrong with the bytes is told in the facts; exceptions are the
    /// stream's own (IOException) and cancellation. <paramref name="eachBlock"/>, when given, sees every decoded block.
    /// </summary>
    public static RecordingFacts Read(Stream stream, SampleBlock? eachBlock = null, CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(stream);
        Span<byte> start = stackalloc byte[FileMagic.Length];
        start = start[..stream.ReadAtLeast(start, start.Length, throwOnEndOfStream: false)];
        var container = FileMagic.ContainerOf(start);
        if (FileMagic.IsRiffWave(container))
            return ReadWav(container, new WavReader(stream, BinaryPrimitives.ReadUInt32LittleEndian(start[4..])), eachBlock, cancellationToken);
        return container.Length > 0
            ? new RecordingFacts { Container = container, Trouble = RecordingTrouble.NotRead, TroubleWords = $"{NameOf(container)} files are not read yet" }
            : new RecordingFacts
            {
                Trouble = RecordingTrouble.NotARecording,
                TroubleWords = start.Length == 0 ? "the file is empty" : "it starts like no kind of recording",
            };
    }

    private static RecordingFacts ReadWav(string container, WavReader wav, SampleBlock? eachBlock, CancellationToken cancellationToken)
    {
        if (!wav.GoToSamples())
            return Describe(container, wav);
        var format = wav.Format!;
        var meter = new LevelMeter(format.Channels, format.FullScale);
        var samples = new double[WavReader.BlockFrames * format.Channels];
        var frames = 0L;
        while (wav.ReadBlock(samples) is > 0 and var count)
        {
            cancellationToken.ThrowIfCancellationRequested();
            meter.Take(samples.AsSpan(0, count));
            eachBlock?.Invoke(samples.AsSpan(0, count), format.Channels);
            frames += count / format.Channels;
        }
        wav.Finish();
        var facts = Describe(container, wav) with
        {
            Frames = frames,
            SamplePeakDbfs = meter.PeakDbfs,
            ClippedRuns = meter.ClippedRuns,
            Silent = frames > 0 && meter.IsSilent,
            HasNonFinite = meter.HasNonFinite,
        };
        return frames == 0 && facts.IsWhole
            ? facts with { Trouble = RecordingTrouble.Empty, TroubleWords = "it holds not one sample" }
            : facts;
    }

    private static RecordingFacts Describe(string container, WavReader wav) => new()
    {
        Container = container,
        Coding = wav.Format is null ? "" : wav.Format.IsFloat ? "float" : "pcm",
        SampleRate = wav.Format?.SampleRate ?? 0,
        Bits = wav.Format?.ValidBits ?? 0,
        Channels = wav.Format?.Channels ?? 0,
        SmplNote = wav.Smpl?.Note,
        SmplCents = wav.Smpl?.Cents ?? 0,
        Loops = wav.Smpl?.Loops ?? [],
        InstNote = wav.Inst?.Note,
        Trouble = wav.Trouble,
        TroubleWords = wav.TroubleWords,
    };

    private static string NameOf(string container) => container switch
    {
        "rifx" => "Big-endian WAV",
        "w64" => "Wave64",
        "aiff" => "AIFF",
        "flac" => "FLAC",
        "ogg" => "Ogg",
        "caf" => "CAF",
        "mp4" => "MPEG-4",
        _ => "MP3",
    };
}
