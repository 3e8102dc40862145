using LibraryShelf.Audio.Files;
using LibraryShelf.Audio.Measures;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// Says whether a recording is an older one times a gain, trimmed or faded, by aligning the decoded samples and holding every frame of the
/// overlap against gain × old. What rounding to the coarser of both with dither makes (TPDF: a quarter of a step squared; Lipshitz, Wannamaker and
/// Vanderkooy, "Quantization and Dither", JAES 40(5), 1992) is forgiven for each piece of 1,024 frames, and little more.
/// </summary>
public static class RecordingComparer
{
    /// <summary>Forgiven beside rounding: arithmetic in 32-bit floats, −126 dB of the newer piece.</summary>
    private const double FloatNoise = 2.5e-13;

    /// <summary>A piece tells a gain when it is this many times (an energy) above what is forgiven.</summary>
    private const double Telling = 1e4;

    /// <summary>Gains of two pieces agree within one of these shares: noise parts them, and a slow fade brings others near.</summary>
    private static readonly double[] Agreeing = [1e-6, 1e-5, 1e-4, 1e-3];

    /// <summary>Samples that are equal within this are the same, dB: no tool writes so small a gain.</summary>
    private const double SameDb = 0.0005;

    /// <summary>At least this many frames must be the same but for a gain, or the whole of a shorter recording.</summary>
    private const int FewestFrames = 1024;

    /// <param name="openOld">Gives the older recording's bytes; called up to a few times, each stream is disposed here.</param>
    /// <param name="openNew">The same of the newer.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    /// <exception cref="IOException">The stream's own.</exception>
    public static RecordingLikeness Compare(Func<Stream> openOld, Func<Stream> openNew, CancellationToken cancellationToken = default)
    {
        using var heardOld = new HeardRecording(openOld);
        using var heardNew = new HeardRecording(openNew);
        return Compare(heardOld, heardNew, cancellationToken);
    }

    /// <inheritdoc cref="Compare(Func{Stream}, Func{Stream}, CancellationToken)"/>
    public static RecordingLikeness Compare(HeardRecording heardOld, HeardRecording heardNew, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(heardOld);
        ArgumentNullException.ThrowIfNull(heardNew);
        if (heardNew.Loudest(cancellationToken) is not var (nextFormat, nextOpening)
            || heardOld.In(nextOpening.Channel, nextFormat, cancellationToken) is not var (_, oldOpening))
            return RecordingLikeness.Other;
        using var old = new Source(heardOld.Open);
        using var next = new Source(heardNew.Open);
        var tried = new HashSet<long>();
        foreach (var lag in LagSearch.Of(oldOpening, nextOpening).Concat(WideSearch.Of(
            oldOpening, nextOpening, (from, count) => Samples(old, from, count, nextOpening.Channel), (from, count) => Samples(next, from, count, nextOpening.Channel))))
        {
            if (!tried.Add(lag))
                continue;
            var overlap = Overlap.Of(old.Open()!, oldOpening.Frames, next.Open()!, nextOpening.Frames, lag, cancellationToken);
            if (Judge(old, next, oldOpening.Frames, nextOpening.Frames, overlap, cancellationToken) is { } likeness)
                return likeness;
        }
        return RecordingLikeness.Other;
    }

    /// <summary>So many frames of one channel, fewer at the end.</summary>
    private static float[] Samples(Source source, long from, int count, int channel)
    {
        var reading = source.Open()!;
        reading.Skip(from);
        var (channels, interleaved) = (reading.Format.Channels, new double[count * reading.Format.Channels]);
        var frames = reading.Read(interleaved) / channels;
        return [.. Enumerable.Range(0, frames).Select(i => (float)interleaved[i * channels + channel])];
    }

    private static RecordingLikeness? Judge(
        Source old, Source next, long oldFrames, long nextFrames, Overlap overlap, CancellationToken cancellationToken)
    {
        // A remnant in which two recordings happen to agree proves nothing.
        if (overlap.Frames <= 0 || overlap.Frames < Math.Min(FewestFrames, Math.Max(oldFrames, nextFrames)))
            return null;
        var noise = new Rounding(old.Format, next.Format);
        var (gain, first, after) = (0.0, 0, 0);
        var most = -1.0;
        foreach (var candidate in GainsOf(overlap, noise))
            if (LoudestRun(overlap.Pieces, p => noise.Forgives(p, candidate)) is var run && run.Energy > most)
                (gain, first, after, most) = (candidate, run.First, run.After, run.Energy);
        if (first == after)
            return null;
        var (head, tail) = (overlap.Lag, oldFrames - overlap.Lag - nextFrames);
        var (fadedIn, fadedOut) = (first > 0, after < overlap.Pieces.Count);
        if ((fadedIn && !Fade.IsOne(old.Open()!, next.Open()!, overlap, 0, first, gain, noise, cancellationToken))
            || (fadedOut && !Fade.IsOne(old.Open()!, next.Open()!, overlap, after, overlap.Pieces.Count, gain, noise, cancellationToken)))
            return null;
        var decibels = Decibels.OfMagnitude(Math.Abs(gain)) ?? 0;
        var isLevel = Math.Abs(decibels) >= SameDb || gain < 0;
        return new RecordingLikeness(
            head != 0 || tail != 0 || fadedIn || fadedOut ? LikenessKind.Trimmed : isLevel ? LikenessKind.Level : LikenessKind.Same,
            isLevel ? decibels : 0, gain < 0, head, tail, fadedIn, fadedOut);
    }

    /// <summary>
    /// The run of pieces that are the same with the most sound in it, from its first to before its end: a faded end may fall silent where the older
    /// one does too, and be the same there.
    /// </summary>
    private static (int First, int After, double Energy) LoudestRun(IReadOnlyList<Overlap.Piece> pieces, Func<Overlap.Piece, bool> isSame)
    {
        var (first, after, most) = (0, 0, -1.0);
        for (var (i, start, energy) = (0, 0, 0.0); i < pieces.Count; i++)
        {
            if (!isSame(pieces[i]))
            {
                (start, energy) = (i + 1, 0);
                continue;
            }
            energy += pieces[i].OldOld;
            if (energy >= most)
                (first, after, most) = (start, i + 1, energy);
        }
        return (first, after, most);
    }

    /// <summary>Gains that many pieces share, by least squares over them; 1 when both are silent; none when nothing tells.</summary>
    private static IEnumerable<double> GainsOf(Overlap overlap, Rounding noise)
    {
        var telling = overlap.Pieces.Where(p => p.OldOld > 0 && p.NewNew > Telling * noise.Forgiven(p, p.Gain)).OrderBy(p => p.Gain).ToList();
        if (telling.Count == 0)
            telling = [.. overlap.Pieces.Where(p => p is { OldOld: > 0, NewNew: > 0 }).OrderBy(p => p.Gain)];
        if (telling.Count == 0)
            return overlap.Pieces.All(p => p is { OldOld: 0, NewNew: 0 }) ? [1] : [];
        return Agreeing.Select(share => LargestGroup(telling, share)).Select(group => group.Sum(p => p.OldNew) / group.Sum(p => p.OldOld)).Where(gain => gain != 0);
    }

    /// <summary>The most pieces whose gains lie within <paramref name="share"/> of each other, of pieces in the order of their gains.</summary>
    private static List<Overlap.Piece> LargestGroup(List<Overlap.Piece> pieces, double share)
    {
        var (from, count) = (0, 0);
        for (var (low, high) = (0, 0); high < pieces.Count; high++)
        {
            while (pieces[high].Gain - pieces[low].Gain > share * Math.Abs(pieces[high].Gain))
                low++;
            if (high + 1 - low > count)
                (from, count) = (low, high + 1 - low);
        }
        return pieces.GetRange(from, count);
    }

    /// <summary>What rounding may leave between gain × old and new.</summary>
    internal sealed class Rounding(SampleFormat old, SampleFormat next)
    {
        /// <summary>
        /// Energy forgiven for a piece of so many samples: what TPDF dither makes of both, half as much again, and six deviations of such a sum, for a
        /// short piece may be unlucky.
        /// </summary>
        public double Forgiven(Overlap.Piece piece, double gain) =>
            1.5 * (piece.Samples + 9 * Math.Sqrt(piece.Samples) + 20) * (Dither(next) + gain * gain * Dither(old)) + FloatNoise * piece.NewNew;

        public bool Forgives(Overlap.Piece piece, double gain) => piece.Remainder(gain) <= Forgiven(piece, gain);

        private static double Dither(SampleFormat format) => format.Step * format.Step / 4;
    }
}
