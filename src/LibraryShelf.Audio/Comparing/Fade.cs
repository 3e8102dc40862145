using System.Runtime.InteropServices;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// Whether the newer recording, where it is not gain × old, is the same under a gain that only rises from, or only falls to, less than
/// three quarters of the whole, and meets the rest: a fade. Looked at in stretches of 16 frames, each with the straight line of gain that fits it best.
/// Where the gain is whole, nothing is forgiven but rounding; where it bends, another sound would leave far more beside the line.
/// </summary>
internal static class Fade
{
    private const int StretchFrames = 16;

    /// <summary>The energy that a fade of 1 ms leaves beside a straight line where it ends in the midst of a stretch, as a share: −23 dB.</summary>
    private const double MostLeft = 5e-3;

    /// <summary>A stretch tells its gain to a hundredth when its energy is this many times what is forgiven.</summary>
    private const double Telling = 1e4;

    /// <summary>The gain at the outer end, as a share of the whole: below, else nothing was faded.</summary>
    private const double Faded = 0.75;

    /// <summary>Slack for rising and falling, as a share of the whole gain.</summary>
    private const double Slack = 0.02;

    /// <summary>Pieces <paramref name="from"/> to before <paramref name="to"/> of the overlap: its beginning (0) or its end.</summary>
    public static bool IsOne(
        FrameReading old, FrameReading next, Overlap overlap, int from, int to, double gain, RecordingComparer.Rounding noise, CancellationToken cancellationToken)
    {
        var start = (long)from * Overlap.PieceFrames;
        old.Skip(Math.Max(overlap.Lag, 0) + start);
        next.Skip(Math.Max(-overlap.Lag, 0) + start);
        var channels = next.Format.Channels;
        var (a, b) = (new double[StretchFrames * channels], new double[StretchFrames * channels]);
        var isIn = from == 0;
        var (share, least, hasTold) = (isIn ? 0 : 1.0, 1.0, false);
        for (var left = Math.Min((long)to * Overlap.PieceFrames, overlap.Frames) - start; left > 0; left -= StretchFrames)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var count = (int)Math.Min(left, StretchFrames) * channels;
            old.Read(a.AsSpan(0, count));
            next.Read(b.AsSpan(0, count));
            var line = Line.Of(a.AsSpan(0, count), b.AsSpan(0, count), channels);
            var forgiven = noise.Forgiven(line.Piece, gain);
            var whole = line.Piece.OldOld * gain * gain;
            // Where the older one is all but silent, any gain fits.
            var tells = whole > Telling * forgiven;
            var own = tells ? line.Piece.Gain / gain : share;
            // A bend leaves as much as the gain departs from the whole there, or did just before.
            var bend = Math.Min(1, 20 * Math.Max(Math.Abs(1 - own), Math.Abs(1 - share)));
            if (line.Left > forgiven + bend * MostLeft * whole || own < -Slack || own > 1 + Slack || (isIn ? own < share - Slack : own > share + Slack))
                return false;
            (share, least, hasTold) = (own, tells ? Math.Min(least, own) : least, hasTold || tells);
        }
        // What is too quiet to tell anything is not held against it.
        return least <= Faded || !hasTold;
    }

    /// <summary>New ≈ (a + b t) × old with t from −1 to 1 over the stretch, by least squares; <paramref name="Left"/>: energy beside it.</summary>
    [StructLayout(LayoutKind.Auto)]
    private readonly record struct Line(Overlap.Piece Piece, double Left)
    {
        public static Line Of(ReadOnlySpan<double> old, ReadOnlySpan<double> next, int channels)
        {
            var frames = old.Length / channels;
            var (oo, too, ttoo, on, ton, nn) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
            for (var i = 0; i < old.Length; i++)
            {
                var t = Place(i);
                var square = old[i] * old[i];
                (oo, too, ttoo) = (oo + square, too + t * square, ttoo + t * t * square);
                var product = old[i] * next[i];
                (on, ton, nn) = (on + product, ton + t * product, nn + next[i] * next[i]);
            }
            var determinant = oo * ttoo - too * too;
            var (level, slope) = determinant > 1e-6 * oo * oo
                ? ((ttoo * on - too * ton) / determinant, (oo * ton - too * on) / determinant)
                : (oo > 0 ? on / oo : 0, 0.0);
            // Taken sample by sample: the difference of the sums would drown in their rounding.
            var left = 0.0;
            for (var i = 0; i < old.Length; i++)
            {
                var beside = next[i] - (level + slope * Place(i)) * old[i];
                left += beside * beside;
            }
            return new Line(new Overlap.Piece(oo, on, nn, old.Length), left);

            double Place(int i) => frames > 1 ? 2.0 * (i / channels) / (frames - 1) - 1 : 0;
        }
    }
}
