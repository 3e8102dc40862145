using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// How loud a recording is, a number for each <see cref="HopFrames"/> frames over all channels, gathered while it is read: small enough to look through
/// the whole of it, where samples are kept of its opening only.
/// </summary>
internal sealed class Envelope
{
    public const int HopFrames = 256;

    /// <summary>33.5 million frames, eleven minutes at 48 kHz; what lies behind is not looked through.</summary>
    public const int MostHops = 1 << 17;

    /// <summary>Hops whose loudness is taken together, and over how many its change is taken: what lies half a hop off still looks much the same.</summary>
    private const int Window = 8, Step = 4, Trend = 16;

    /// <summary>Hann's, so that the periods of a tone do not show.</summary>
    private static readonly double[] Weights = [.. Enumerable.Range(0, Window).Select(i => Math.Pow(Math.Sin(Math.PI * (i + 0.5) / Window), 2))];

    private readonly List<double> energies = [];
    private double energy;
    private int frames;

    /// <summary>Energy of a hop.</summary>
    public IReadOnlyList<double> Energies => energies;

    public void Add(ReadOnlySpan<double> interleaved, int channels)
    {
        while (interleaved.Length >= channels && energies.Count < MostHops)
        {
            var count = Math.Min(HopFrames - frames, interleaved.Length / channels);
            energy += EnergyOf(interleaved[..(count * channels)]);
            interleaved = interleaved[(count * channels)..];
            if ((frames += count) < HopFrames)
                continue;
            energies.Add(energy);
            (energy, frames) = (0, 0);
        }
    }

    /// <summary>In several sums, none of which waits for the one before.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)] // A comparison is over before the runtime has seen often enough what it should compile well.
    private static double EnergyOf(ReadOnlySpan<double> samples)
    {
        ref var first = ref MemoryMarshal.GetReference(samples);
        Vector<double> sum = default, sum2 = default;
        var at = 0;
        for (; at <= samples.Length - 2 * Vector<double>.Count; at += 2 * Vector<double>.Count)
        {
            var (a, b) = (Vector.LoadUnsafe(ref first, (nuint)at), Vector.LoadUnsafe(ref first, (nuint)(at + Vector<double>.Count)));
            sum += a * a;
            sum2 += b * b;
        }
        var all = Vector.Sum(sum + sum2);
        for (; at < samples.Length; at++)
            all += samples[at] * samples[at];
        return all;
    }

    /// <summary>
    /// How its loudness wavers from hop to hop, in nepers, one at most: what a gain leaves as it is, and a dying sound does not look like at another
    /// place, as its loudness itself does.
    /// </summary>
    public float[] Wavering()
    {
        var floor = 1e-9 * energies.DefaultIfEmpty(0).Max();
        if (floor <= 0 || energies.Count < Window + Step)
            return [];
        var loudness = new double[energies.Count - Window + 1];
        for (var i = 0; i < loudness.Length; i++)
        {
            var sum = 0.0;
            for (var j = 0; j < Window; j++)
                sum += Weights[j] * energies[i + j];
            loudness[i] = Math.Log(sum + floor);
        }
        var changes = Enumerable.Range(0, loudness.Length - Step).Select(i => Math.Clamp(loudness[i + Step] - loudness[i], -1, 1)).ToArray();
        return WithoutTrend(changes);
    }

    /// <summary>An even decay, the same everywhere, would make every place look like every other.</summary>
    private static float[] WithoutTrend(double[] changes)
    {
        var sums = new double[changes.Length + 1];
        for (var i = 0; i < changes.Length; i++)
            sums[i + 1] = sums[i] + changes[i];
        return [.. changes.Select((change, i) =>
        {
            var (from, to) = (Math.Max(0, i - Trend), Math.Min(changes.Length, i + Trend + 1));
            return (float)(change - (sums[to] - sums[from]) / (to - from));
        })];
    }
}
