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
        if (SoundFiles.Reader(container, stream, start) is { } file)
            return Measure(container, file, eachBlock, cancellationToken);
        return container.Length > 0
            ? new RecordingFacts { Container = container, Trouble = RecordingTrouble.NotRead, TroubleWords = T($"{NameOf(container)} files are not read yet") }
            : new RecordingFacts
            {
                Trouble = RecordingTrouble.NotARecording,
                TroubleWords = start.Length == 0 ? T("the file is empty") : T("it starts like no kind of recording"),
            };
    }

    private static RecordingFacts Measure(string container, SoundFile file, SampleBlock? eachBlock, CancellationToken cancellationToken)
    {
        if (!file.GoToSamples())
            return file.Describe(container);
        var format = file.Format!;
        var meter = new RecordingMeter(format);
        var samples = new double[SoundFile.BlockFrames * format.Channels];
        var frames = 0L;
        while (file.ReadBlock(samples) is > 0 and var count)
        {
            cancellationToken.ThrowIfCancellationRequested();
            eachBlock?.Invoke(samples.AsSpan(0, count), format.Channels);
            meter.Take(samples.AsSpan(0, count));
            frames += count / format.Channels;
        }
        file.Finish(frames);
        var facts = meter.Onto(file.Describe(container));
        return frames == 0 && facts.IsWhole
            ? facts with { Trouble = RecordingTrouble.Empty, TroubleWords = T("it holds not one sample") }
            : facts;
    }

    private static string NameOf(string container) => container switch
    {
        "rifx" => T("Big-endian WAV"),
        "w64" => "Wave64",
        "flac" => "FLAC",
        "ogg" => "Ogg",
        "caf" => "CAF",
        "mp4" => "MPEG-4",
        _ => "MP3",
    };
}
