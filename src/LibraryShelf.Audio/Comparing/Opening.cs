using System.Buffers;
using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using LibraryShelf.Audio.Measures;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// A recording's first <see cref="MostFrames"/> frames in one channel, by which two are aligned, its length, and how its loudness changes
/// behind, where they are looked for when the openings have nothing in common (<see cref="WideSearch"/>). Its room is rented and given back:
/// megabytes for each recording of a version would keep the memory's sweeping busy.
/// </summary>
internal sealed class Opening : IDisposable
{
    /// <summary>Five seconds at 48 kHz, a megabyte; with an anchor the size of a transform.</summary>
    public const int MostFrames = (1 << 18) - LagSearch.AnchorFrames;

    private readonly Kept kept;
    /// <summary>What is worked out later is worked out once, and kept as it is until the end: several comparisons look at it at once.</summary>
    private readonly Lock working = new();
    private readonly Dictionary<int, Fourier.Spectrum> spectra = [], lowSpectra = [];
    private float[]? low, wavering;

    private Opening(Kept kept, long frames, int channel, Envelope envelope) =>
        (this.kept, Frames, Channel, Envelope) = (kept, frames, channel, envelope);

    public ReadOnlySpan<float> Samples => kept.Samples;

    /// <summary>Of the whole recording.</summary>
    public long Frames { get; }

    public int Channel { get; }

    /// <summary>What is low in <see cref="Samples"/>, at the lower rate of <see cref="LowBand"/>.</summary>
    public ReadOnlySpan<float> Low
    {
        get
        {
            var length = LowBand.LengthFor(Samples.Length);
            lock (working)
            {
                if (low is null)
                    LowBand.Of(Samples, (low = ArrayPool<float>.Shared.Rent(length)).AsSpan(0, length));
                return low.AsSpan(0, length);
            }
        }
    }

    /// <summary>Of all of it.</summary>
    public Envelope Envelope { get; }

    /// <summary>See <see cref="Envelope.Wavering"/>.</summary>
    public float[] Wavering
    {
        get
        {
            lock (working)
                return wavering ??= Envelope.Wavering();
        }
    }

    /// <summary>Where the largest magnitude stands, the first of equals.</summary>
    public int PeakAt => kept.PeakAt;

    /// <summary>Of the samples and of the stretch round the peak by which they are looked for in another; kept for each size, because it is compared with several, of several lengths.</summary>
    public Fourier.Spectrum SpectrumOf(int size, (int Start, int Length) anchor) => SpectrumOf(spectra, size, Samples, anchor);

    /// <summary>The same of <see cref="Low"/>.</summary>
    public Fourier.Spectrum LowSpectrumOf(int size, (int Start, int Length) anchor) => SpectrumOf(lowSpectra, size, Low, anchor);

    /// <summary>Nobody may look at it afterwards.</summary>
    public void Dispose()
    {
        kept.Dispose();
        foreach (var spectrum in spectra.Values.Concat(lowSpectra.Values))
            spectrum.Dispose();
        spectra.Clear();
        lowSpectra.Clear();
        if (low is not null)
            ArrayPool<float>.Shared.Return(low);
        low = null;
    }

    /// <param name="reading">From the start; read to its end.</param>
    /// <param name="channel">Which channel; null: the one with the greatest peak.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static Opening Read(FrameReading reading, int? channel, CancellationToken cancellationToken)
    {
        var channels = reading.Format.Channels;
        var each = Array.ConvertAll(new int[channels], _ => new Kept());
        var (frames, block, envelope, chosen) = (0L, ArrayPool<double>.Shared.Rent(4096 * channels), new Envelope(), -1);
        try
        {
            while (reading.Read(block.AsSpan(0, 4096 * channels)) is > 0 and var count)
            {
                cancellationToken.ThrowIfCancellationRequested();
                envelope.Add(block.AsSpan(0, count), channels);
                var whole = (int)Math.Min(count / channels, Math.Max(0, MostFrames - frames));
                for (var i = 0; i < channels; i++)
                    if (channel is null || channel == i)
                        each[i].Add(block.AsSpan(0, whole * channels), i, channels);
                frames += count / channels;
            }
            chosen = channel ?? Array.IndexOf(each, each.MaxBy(k => k.Peak));
            return new Opening(each[chosen], frames, chosen, envelope);
        }
        finally
        {
            ArrayPool<double>.Shared.Return(block);
            for (var i = 0; i < channels; i++)
                if (i != chosen)
                    each[i].Dispose();
        }
    }

    private Fourier.Spectrum SpectrumOf(Dictionary<int, Fourier.Spectrum> known, int size, ReadOnlySpan<float> samples, (int Start, int Length) anchor)
    {
        lock (working)
            return known.TryGetValue(size, out var spectrum)
                ? spectrum : known[size] = Fourier.OfLags(size).SpectrumOf(samples, samples.Slice(anchor.Start, anchor.Length));
    }

    /// <summary>One channel's samples, and the first of their largest magnitudes.</summary>
    private sealed class Kept : IDisposable
    {
        private const int AtFirst = 1 << 15;

        private float[] samples = [];
        private int count;

        public ReadOnlySpan<float> Samples => samples.AsSpan(0, count);

        public float Peak { get; private set; }

        public int PeakAt { get; private set; }

        public void Add(ReadOnlySpan<double> interleaved, int channel, int channels)
        {
            var more = interleaved.Length / channels;
            if (samples.Length < count + more)
                Grow(Math.Max(count + more, Math.Max(2 * count, AtFirst)));
            var to = samples.AsSpan(count, more);
            Part(interleaved, channel, channels, to);
            var greatest = Greatest(to);
            if (greatest > Peak)
                (Peak, PeakAt) = (greatest, count + FirstOf(to, greatest));
            count += more;
        }

        public void Dispose()
        {
            if (samples.Length > 0)
                ArrayPool<float>.Shared.Return(samples);
            (samples, count) = ([], 0);
        }

        private void Grow(int least)
        {
            var (before, has) = (samples, count);
            samples = ArrayPool<float>.Shared.Rent(least);
            before.AsSpan(0, has).CopyTo(samples);
            if (before.Length > 0)
                ArrayPool<float>.Shared.Return(before);
        }

        [MethodImpl(MethodImplOptions.AggressiveOptimization)]
        private static void Part(ReadOnlySpan<double> interleaved, int channel, int channels, Span<float> to)
        {
            ref var from = ref MemoryMarshal.GetReference(interleaved);
            for (nint i = 0, at = channel; i < to.Length; i++, at += channels)
                to[(int)i] = (float)Unsafe.Add(ref from, at);
        }

        [MethodImpl(MethodImplOptions.AggressiveOptimization)]
        private static float Greatest(ReadOnlySpan<float> samples)
        {
            ref var first = ref MemoryMarshal.GetReference(samples);
            var (most, at) = (Vector<float>.Zero, 0);
            for (; at <= samples.Length - Vector<float>.Count; at += Vector<float>.Count)
                most = Vector.Max(most, Vector.Abs(Vector.LoadUnsafe(ref first, (nuint)at)));
            var greatest = 0f;
            for (var i = 0; i < Vector<float>.Count; i++)
                greatest = Math.Max(greatest, most[i]);
            for (; at < samples.Length; at++)
                greatest = Math.Max(greatest, Math.Abs(samples[at]));
            return greatest;
        }

        private static int FirstOf(ReadOnlySpan<float> samples, float magnitude)
        {
            var (above, below) = (samples.IndexOf(magnitude), samples.IndexOf(-magnitude));
            return above < 0 ? below : below < 0 ? above : Math.Min(above, below);
        }
    }
}
