using System.Numerics;
using LibraryShelf.Audio.Measures;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// How far one recording lies behind another in the same sound: a stretch round the peak of one is looked for in the other by normalised
/// cross-correlation. A lag of 3 says that the newer's frame i is the older's frame i + 3. Only guesses: each is held against every frame
/// afterwards (<see cref="Overlap"/>).
/// </summary>
internal static class LagSearch
{
    public const int AnchorFrames = 8192;

    private const int BeforePeak = 1024, Shortest = 64;

    /// <summary>Two takes of one note reach 0.9 at times; the same take with a fade over some of the stretch is above this.</summary>
    private const double Alike = 0.95;

    /// <summary>Most guesses of one search: a held tone has as many as periods, all of which are as good.</summary>
    private const int MostGuesses = 3;

    /// <summary>Guesses, likely ones first; none when nothing in one sounds like the other.</summary>
    public static IEnumerable<long> Of(Opening old, Opening next)
    {
        var simple = new[] { 0, old.PeakAt - next.PeakAt, old.Frames - next.Frames }.Distinct().Where(lag => IsAlike(old, next, lag)).ToList();
        foreach (var lag in simple)
            yield return lag;
        foreach (var at in Find(old.Samples, next.Samples, AnchorOf(next)).Except(simple))
            yield return at;
        foreach (var at in Find(next.Samples, old.Samples, AnchorOf(old)).Select(lag => -lag).Except(simple))
            yield return at;
    }

    private static (int Start, int Length) AnchorOf(Opening opening)
    {
        var start = Math.Clamp(opening.PeakAt - BeforePeak, 0, Math.Max(0, opening.Samples.Length - AnchorFrames));
        return (start, Math.Min(AnchorFrames, opening.Samples.Length - start));
    }

    private static bool IsAlike(Opening old, Opening next, long lag)
    {
        var (start, length) = AnchorOf(next);
        var from = Math.Max(start + lag, 0);
        var to = Math.Min(start + lag + length, old.Samples.Length);
        // Too far off to be looked at here: the frames decide.
        if (to - from < Math.Min(Shortest, length))
            return to - from <= 0 && length < Shortest;
        var a = old.Samples.AsSpan((int)from, (int)(to - from));
        var b = next.Samples.AsSpan((int)(from - lag), (int)(to - from));
        var (aa, bb, ab) = (Dot(a, a), Dot(b, b), Dot(a, b));
        return aa == 0 || bb == 0 ? aa == bb : Math.Abs(ab) >= Alike * Math.Sqrt(aa * bb);
    }

    /// <summary>Lags at which the anchor of <paramref name="b"/> is found in <paramref name="a"/>.</summary>
    public static List<long> Find(float[] a, float[] b, (int Start, int Length) anchor)
    {
        if (anchor.Length < Shortest || a.Length < anchor.Length)
            return [];
        var stretch = b.AsSpan(anchor.Start, anchor.Length);
        var energy = Dot(stretch, stretch);
        if (energy == 0)
            return [];
        var lags = Fourier.OfLags((int)BitOperations.RoundUpToPowerOf2((uint)(a.Length + anchor.Length)));
        var products = lags.CrossCorrelation(a, stretch);
        var likeness = Normalised(products, a, anchor.Length, energy);
        var found = new List<long>();
        while (found.Count < MostGuesses)
        {
            var best = Array.IndexOf(likeness, likeness.Max());
            if (likeness[best] < Alike)
                break;
            found.Add(best - anchor.Start);
            likeness.AsSpan(Math.Max(0, best - 2), Math.Min(5, likeness.Length - Math.Max(0, best - 2))).Clear();
        }
        return found;
    }

    /// <summary>Magnitudes from 0 to 1 at each place where the anchor lies wholly in <paramref name="a"/>; 0 where it is all but silent.</summary>
    private static float[] Normalised(float[] products, float[] a, int length, double energy)
    {
        var likeness = new float[a.Length - length + 1];
        var window = 0.0;
        for (var i = 0; i < length; i++)
            window += (double)a[i] * a[i];
        for (var lag = 0; lag < likeness.Length; lag++)
        {
            likeness[lag] = window > 1e-12 * energy ? (float)Math.Min(1, Math.Abs(products[lag]) / Math.Sqrt(window * energy)) : 0;
            if (lag + length < a.Length)
                window = Math.Max(0, window + (double)a[lag + length] * a[lag + length] - (double)a[lag] * a[lag]);
        }
        return likeness;
    }

    private static double Dot(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        var sum = 0.0;
        for (var i = 0; i < a.Length; i++)
            sum += (double)a[i] * b[i];
        return sum;
    }
}
