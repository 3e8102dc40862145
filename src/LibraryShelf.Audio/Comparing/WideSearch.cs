using System.Numerics;
using LibraryShelf.Audio.Measures;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// Guesses where one recording lies in the other when their openings have nothing in common: how the loudness of all of both wavers is laid over
/// each other, then a stretch of samples tells the frame. For recordings longer than an opening.
/// </summary>
internal static class WideSearch
{
    /// <summary>Unlike recordings stay below half of this; the same, half a hop off, is above. Tried on made sounds, no source.</summary>
    private const double Alike = 0.6;

    /// <summary>Hops that both must share, a third of a second at 48 kHz.</summary>
    private const int FewestHops = 64;

    private const int MostGuesses = 2, Apart = 8;

    /// <summary>Frames round a guess of hops within which the frame is looked for.</summary>
    private const int Margin = 4 * Envelope.HopFrames;

    /// <param name="old">The older one.</param>
    /// <param name="next">The newer one.</param>
    /// <param name="readOld">Gives a stretch of the older one's samples, in the channel of the opening: first frame, count; fewer at its end.</param>
    /// <param name="readNext">The same of the newer.</param>
    public static IEnumerable<long> Of(Opening old, Opening next, Func<long, int, float[]> readOld, Func<long, int, float[]> readNext)
    {
        if (old.Frames <= Opening.MostFrames && next.Frames <= Opening.MostFrames)
            yield break;
        foreach (var hops in Guesses(old.Wavering, next.Wavering))
        {
            var start = LoudestStart(old, next, hops);
            var from = Math.Max(0, start + (long)hops * Envelope.HopFrames - Margin);
            var anchor = readNext(start, LagSearch.AnchorFrames);
            foreach (var at in LagSearch.Find(readOld(from, LagSearch.AnchorFrames + 2 * Margin), anchor, (0, anchor.Length)).Take(1))
                yield return from + at - start;
        }
    }

    /// <summary>Lags in hops at which the changes are alike, the surest first.</summary>
    private static List<int> Guesses(float[] a, float[] b)
    {
        if (a.Length < FewestHops || b.Length < FewestHops)
            return [];
        var size = (int)BitOperations.RoundUpToPowerOf2((uint)(a.Length + b.Length));
        var products = Fourier.OfLags(size).CrossCorrelation(a, b);
        var (sumsA, sumsB) = (Sums(a), Sums(b));
        var surest = new PriorityQueue<int, double>();
        for (var lag = FewestHops - b.Length; lag <= a.Length - FewestHops; lag++)
        {
            var (from, to) = (Math.Max(0, lag), Math.Min(a.Length, b.Length + lag));
            var energy = (sumsA[to] - sumsA[from]) * (sumsB[to - lag] - sumsB[from - lag]);
            var likeness = energy > 1e-9 ? products[(lag + size) % size] / Math.Sqrt(energy) : 0;
            if (likeness >= Alike)
                surest.Enqueue(lag, -likeness * Math.Sqrt(to - from));
        }
        var guesses = new List<int>();
        while (guesses.Count < MostGuesses && surest.TryDequeue(out var lag, out _))
            if (!guesses.Exists(g => Math.Abs(g - lag) < Apart))
                guesses.Add(lag);
        return guesses;
    }

    private static double[] Sums(float[] values)
    {
        var sums = new double[values.Length + 1];
        for (var i = 0; i < values.Length; i++)
            sums[i + 1] = sums[i] + (double)values[i] * values[i];
        return sums;
    }

    /// <summary>The newer one's frame at which the loudest hop begins that both have, so that a whole anchor follows in both where there is one.</summary>
    private static long LoudestStart(Opening old, Opening next, int hops)
    {
        const int anchor = LagSearch.AnchorFrames / Envelope.HopFrames;
        var (from, to) = (Math.Max(0, -hops), Math.Min(next.Envelope.Energies.Count, old.Envelope.Energies.Count - hops) - anchor);
        var best = from;
        for (var i = from; i < to; i++)
            if (next.Envelope.Energies[i] > next.Envelope.Energies[best])
                best = i;
        return (long)best * Envelope.HopFrames;
    }
}
