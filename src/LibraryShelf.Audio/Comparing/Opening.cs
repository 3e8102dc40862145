using System.Runtime.InteropServices;
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

    private Fourier.Spectrum? spectrum, lowSpectrum;
    private float[]? low, wavering;

    private Opening(Kept kept, long frames, int channel, Envelope envelope) =>
        (Samples, Frames, Channel, Envelope, PeakAt) = ([.. kept.Samples], frames, channel, envelope, kept.PeakAt);

    public float[] Samples { get; }

    /// <summary>Of the whole recording.</summary>
    public long Frames { get; }

    public int Channel { get; }

    /// <summary>What is low in <see cref="Samples"/>, at the lower rate of <see cref="LowBand"/>.</summary>
    public float[] Low => low ??= LowBand.Of(Samples);

    /// <summary>Of all of it.</summary>
    public Envelope Envelope { get; }

    /// <summary>See <see cref="Envelope.Wavering"/>.</summary>
    public float[] Wavering => wavering ??= Envelope.Wavering();

    /// <summary>Where the largest magnitude stands, the first of equals.</summary>
    public int PeakAt { get; }

    /// <summary>Of the samples and of the stretch round the peak by which they are looked for in another; kept, because it is compared with several.</summary>
    public Fourier.Spectrum SpectrumOf(int size, (int Start, int Length) anchor) => spectrum is { } known && known.Size == size
        ? known : spectrum = Fourier.OfLags(size).SpectrumOf(Samples, Samples.AsSpan(anchor.Start, anchor.Length));

    /// <summary>The same of <see cref="Low"/>.</summary>
    public Fourier.Spectrum LowSpectrumOf(int size, (int Start, int Length) anchor) => lowSpectrum is { } known && known.Size == size
        ? known : lowSpectrum = Fourier.OfLags(size).SpectrumOf(Low, Low.AsSpan(anchor.Start, anchor.Length));

    /// <param name="reading">From the start; read to its end.</param>
    /// <param name="channel">Which channel; null: the one with the greatest peak.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static Opening Read(FrameReading reading, int? channel, CancellationToken cancellationToken)
    {
        var channels = reading.Format.Channels;
        var kept = Array.ConvertAll(new int[channels], _ => new Kept());
        var (frames, block, envelope) = (0L, new double[4096 * channels], new Envelope());
        while (reading.Read(block) is > 0 and var count)
        {
            cancellationToken.ThrowIfCancellationRequested();
            envelope.Add(block.AsSpan(0, count), channels);
            var whole = (int)Math.Min(count / channels, Math.Max(0, MostFrames - frames));
            for (var i = 0; i < channels; i++)
                if (channel is null || channel == i)
                    kept[i].Add(block.AsSpan(0, whole * channels), i, channels);
            frames += count / channels;
        }
        var chosen = channel ?? Array.IndexOf(kept, kept.MaxBy(k => k.Peak));
        return new Opening(kept[chosen], frames, chosen, envelope);
    }

    /// <summary>One channel's samples, and the first of their largest magnitudes.</summary>
    private sealed class Kept
    {
        public List<float> Samples { get; } = [];

        public float Peak { get; private set; }

        public int PeakAt { get; private set; }

        public void Add(ReadOnlySpan<double> interleaved, int channel, int channels)
        {
            var from = Samples.Count;
            CollectionsMarshal.SetCount(Samples, from + interleaved.Length / channels);
            var to = CollectionsMarshal.AsSpan(Samples)[from..];
            for (var i = 0; i < to.Length; i++)
            {
                to[i] = (float)interleaved[i * channels + channel];
                if (Math.Abs(to[i]) > Peak)
                    (Peak, PeakAt) = (Math.Abs(to[i]), from + i);
            }
        }
    }
}
