using LibraryShelf.Audio.Measures;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// A recording's first <see cref="MostFrames"/> frames in one channel, by which two are aligned, its length, and how its loudness changes
/// behind, where they are looked for when the openings have nothing in common (<see cref="WideSearch"/>).
/// </summary>
internal sealed class Opening
{
    /// <summary>Five seconds at 48 kHz, a megabyte; with an anchor the size of a transform.</summary>
    public const int MostFrames = (1 << 18) - LagSearch.AnchorFrames;

    private Fourier.Spectrum? spectrum;

    private Opening(float[] samples, long frames, int channel, Envelope envelope)
    {
        (Samples, Frames, Channel, Envelope) = (samples, frames, channel, envelope);
        for (var i = 0; i < samples.Length; i++)
            if (Math.Abs(samples[i]) > Math.Abs(samples[PeakAt]))
                PeakAt = i;
    }

    public float[] Samples { get; }

    /// <summary>Of the whole recording.</summary>
    public long Frames { get; }

    public int Channel { get; }

    /// <summary>Of all of it.</summary>
    public Envelope Envelope { get; }

    /// <summary>Where the largest magnitude stands, the first of equals.</summary>
    public int PeakAt { get; }

    /// <summary>Of the samples and of the stretch round the peak by which they are looked for in another; kept, because it is compared with several.</summary>
    public Fourier.Spectrum SpectrumOf(int size, (int Start, int Length) anchor) => spectrum is { } known && known.Size == size
        ? known : spectrum = Fourier.OfLags(size).SpectrumOf(Samples, Samples.AsSpan(anchor.Start, anchor.Length));

    /// <param name="reading">From the start; read to its end.</param>
    /// <param name="channel">Which channel; null: the one with the greatest peak.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static Opening Read(FrameReading reading, int? channel, CancellationToken cancellationToken)
    {
        var channels = reading.Format.Channels;
        var kept = Enumerable.Range(0, channels).Select(_ => new List<float>()).ToArray();
        var (frames, block, envelope) = (0L, new double[4096 * channels], new Envelope());
        while (reading.Read(block) is > 0 and var count)
        {
            cancellationToken.ThrowIfCancellationRequested();
            envelope.Add(block.AsSpan(0, count), channels);
            var whole = (int)Math.Min(count / channels, Math.Max(0, MostFrames - frames));
            for (var i = 0; i < channels; i++)
                if (channel is null || channel == i)
                    Keep(block, i, channels, whole, kept[i]);
            frames += count / channels;
        }
        var chosen = channel ?? Array.IndexOf(kept, kept.MaxBy(k => k.Count == 0 ? 0 : k.Max(Math.Abs)));
        return new Opening([.. kept[chosen]], frames, chosen, envelope);
    }

    private static void Keep(double[] block, int channel, int channels, int frames, List<float> to)
    {
        for (var i = 0; i < frames; i++)
            to.Add((float)block[i * channels + channel]);
    }
}
