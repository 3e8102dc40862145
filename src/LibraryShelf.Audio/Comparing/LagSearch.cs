using System.Numerics;
using System.Runtime.CompilerServices;
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

    /// <summary>
    /// What is low in two of the same is as alike, but for where an eighth of the rate falls: half a step off, the highest that comes through
    /// (<see cref="LowBand.Cutoff"/>) is at cos(π × 0.25) still. Beside that another noise stays under 0.3. Held against made and real sounds.
    /// </summary>
    private const double LowAlike = 0.55;

    /// <summary>
    /// The share of a stretch's energy that must be low for what is low to say anything. Of a white noise, as rounding makes it, 0.05 is low:
    /// with this share the noise that leaves a likeness of 0.95 in all samples leaves 0.92 in what is low.
    /// </summary>
    private const double LowShare = 0.03;

    /// <summary>Most guesses of one search: a held tone has as many as periods, all of which are as good.</summary>
    private const int MostGuesses = 3;

    /// <summary>Guesses, likely ones first; none when nothing in one sounds like the other.</summary>
    public static IEnumerable<long> Of(Opening old, Opening next)
    {
        var simple = new[] { 0, old.PeakAt - next.PeakAt, old.Frames - next.Frames }.Distinct().Where(lag => IsAlike(old, next, lag)).ToList();
        foreach (var lag in simple)
            yield return lag;
        if (IsHopeless(old, next))
            yield break;
        var (inOld, inNext) = FindEach(old, next);
        foreach (var lag in inOld.Concat(inNext.Select(at => -at)).Except(simple))
            yield return lag;
    }

    /// <summary>
    /// Whether the anchor of neither can be found in the other, as what is low in both tells: an eighth of the rate, and so less than an eighth of the work.
    /// False says nothing.
    /// </summary>
    internal static bool IsHopeless(Opening old, Opening next)
    {
        if (LowAnchorOf(old) is not { } ofOld || LowAnchorOf(next) is not { } ofNext)
            return false;
        var size = SizeFor(old.Low.Length, ofOld.Length, next.Low.Length, ofNext.Length);
        using var products = Fourier.OfLags(size).CrossCorrelations(old.LowSpectrumOf(size, ofOld), next.LowSpectrumOf(size, ofNext));
        return !IsAnywhere(products.Re, old.Low, next.Low, ofNext) && !IsAnywhere(products.Im, next.Low, old.Low, ofOld);
    }

    private static bool IsAnywhere(ReadOnlySpan<float> products, ReadOnlySpan<float> a, ReadOnlySpan<float> b, (int Start, int Length) anchor)
    {
        var stretch = b.Slice(anchor.Start, anchor.Length);
        return a.Length >= anchor.Length && AlikeAt(products, a, anchor.Length, Dot(stretch, stretch), LowAlike).Count > 0;
    }

    /// <summary>The anchor at the lower rate; null when little of it is low, or it is short.</summary>
    private static (int Start, int Length)? LowAnchorOf(Opening opening)
    {
        var (start, length) = AnchorOf(opening);
        var low = (Start: start / LowBand.Step, Length: length / LowBand.Step);
        if (low.Length < Shortest)
            return null;
        var all = opening.Samples.Slice(start, length);
        var ofLow = opening.Low.Slice(low.Start, low.Length);
        var energy = Dot(all, all);
        return energy > 0 && Dot(ofLow, ofLow) * LowBand.Step >= LowShare * energy ? low : null;
    }

    /// <summary>Lags at which the anchor of each is found in the other.</summary>
    internal static (List<long> InOld, List<long> InNext) FindEach(Opening old, Opening next)
    {
        var (ofOld, ofNext) = (AnchorOf(old), AnchorOf(next));
        var size = SizeFor(old.Samples.Length, ofOld.Length, next.Samples.Length, ofNext.Length);
        using var products = Fourier.OfLags(size).CrossCorrelations(old.SpectrumOf(size, ofOld), next.SpectrumOf(size, ofNext));
        return (Find(products.Re, old.Samples, next.Samples, ofNext), Find(products.Im, next.Samples, old.Samples, ofOld));
    }

    private static int SizeFor(int old, int ofOld, int next, int ofNext) => (int)BitOperations.RoundUpToPowerOf2((uint)Math.Max(8, Math.Max(old + ofNext, next + ofOld)));

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
        var a = old.Samples.Slice((int)from, (int)(to - from));
        var b = next.Samples.Slice((int)(from - lag), (int)(to - from));
        var (aa, bb, ab) = (Dot(a, a), Dot(b, b), Dot(a, b));
        return aa == 0 || bb == 0 ? aa == bb : Math.Abs(ab) >= Alike * Math.Sqrt(aa * bb);
    }

    /// <summary>Lags at which the anchor of <paramref name="b"/> is found in <paramref name="a"/>.</summary>
    public static List<long> Find(float[] a, float[] b, (int Start, int Length) anchor)
    {
        if (anchor.Length < Shortest || a.Length < anchor.Length)
            return [];
        var lags = Fourier.OfLags((int)BitOperations.RoundUpToPowerOf2((uint)(a.Length + anchor.Length)));
        return Find(lags.CrossCorrelation(a, b.AsSpan(anchor.Start, anchor.Length)), a, b, anchor);
    }

    private static List<long> Find(ReadOnlySpan<float> products, ReadOnlySpan<float> a, ReadOnlySpan<float> b, (int Start, int Length) anchor)
    {
        if (anchor.Length < Shortest || a.Length < anchor.Length)
            return [];
        var stretch = b.Slice(anchor.Start, anchor.Length);
        var energy = Dot(stretch, stretch);
        if (energy == 0)
            return [];
        var alike = AlikeAt(products, a, anchor.Length, energy, Alike);
        var found = new List<long>();
        while (found.Count < MostGuesses && alike.Count > 0)
        {
            var best = alike.MaxBy(at => at.Likeness).Lag;
            found.Add(best - anchor.Start);
            alike.RemoveAll(at => Math.Abs(at.Lag - best) <= 2);
        }
        return found;
    }

    /// <summary>Where the anchor lies wholly in <paramref name="a"/>, that is not all but silent there, and is like it: as a share squared.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)] // A comparison is over before the runtime has seen often enough what it should compile well.
    private static List<(int Lag, double Likeness)> AlikeAt(ReadOnlySpan<float> products, ReadOnlySpan<float> a, int length, double energy, double leastLikeness)
    {
        var alike = new List<(int, double)>();
        var (window, silent, least) = (0.0, 1e-12 * energy, leastLikeness * leastLikeness * energy);
        for (var i = 0; i < length; i++)
            window += (double)a[i] * a[i];
        for (var lag = 0; lag <= a.Length - length; lag++)
        {
            var square = (double)products[lag] * products[lag];
            if (window > silent && square >= least * window)
                alike.Add((lag, Math.Min(1, square / (window * energy))));
            if (lag + length < a.Length)
                window = Math.Max(0, window + (double)a[lag + length] * a[lag + length] - (double)a[lag] * a[lag]);
        }
        return alike;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private static double Dot(ReadOnlySpan<float> a, ReadOnlySpan<float> b)
    {
        var sum = 0.0;
        for (var i = 0; i < a.Length; i++)
            sum += (double)a[i] * b[i];
        return sum;
    }
}
