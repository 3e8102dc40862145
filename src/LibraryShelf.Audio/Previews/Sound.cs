namespace LibraryShelf.Audio.Previews;

/// <summary>A short sound in memory. <paramref name="Samples"/> are whole frames, interleaved, full scale 1; <paramref name="Channels"/> is 1 or 2.</summary>
public sealed record Sound(ReadOnlyMemory<float> Samples, int Channels, int SampleRate)
{
    public int Frames => Samples.Length / Channels;

    public double Seconds => (double)Frames / SampleRate;

    /// <summary>One channel, the mean of both; the same sound when it has one.</summary>
    public Sound ToMono()
    {
        if (Channels == 1)
            return this;
        var from = Samples.Span;
        var mono = new float[Frames];
        for (var i = 0; i < mono.Length; i++)
            mono[i] = (from[2 * i] + from[2 * i + 1]) / 2;
        return new Sound(mono, 1, SampleRate);
    }
}
