using System.Runtime.InteropServices;

namespace LibraryShelf.Audio.Comparing;

/// <summary>
/// Two recordings held against each other frame by frame at one lag: sums of each piece of <see cref="PieceFrames"/> frames, over all
/// channels, of old × old, old × new and new × new, from which gain and remainder of a piece follow. Samples at which only the newer one
/// stands at full scale are left out: what was made louder may be cut off there.
/// </summary>
internal sealed class Overlap
{
    public const int PieceFrames = 1024;

    private readonly List<Piece> pieces = [];

    private Overlap(long lag, long frames) => (Lag, Frames) = (lag, frames);

    /// <summary>Frame i of the newer is frame i + lag of the older.</summary>
    public long Lag { get; }

    public long Frames { get; }

    public IReadOnlyList<Piece> Pieces => pieces;

    /// <summary>One piece; <paramref name="Samples"/> counts those of all channels that were taken.</summary>
    [StructLayout(LayoutKind.Auto)]
    public readonly record struct Piece(double OldOld, double OldNew, double NewNew, int Samples)
    {
        public double Gain => OldNew / OldOld;

        /// <summary>Energy of what is left of the newer when <paramref name="gain"/> times the older is taken away.</summary>
        public double Remainder(double gain) => Math.Max(0, NewNew - 2 * gain * OldNew + gain * gain * OldOld);
    }

    /// <summary>Readings of both from their starts, and their lengths in frames.</summary>
    public static Overlap Of(FrameReading old, long oldFrames, FrameReading next, long nextFrames, long lag, CancellationToken cancellationToken)
    {
        var frames = Math.Min(oldFrames - Math.Max(lag, 0), nextFrames - Math.Max(-lag, 0));
        var overlap = new Overlap(lag, frames);
        old.Skip(Math.Max(lag, 0));
        next.Skip(Math.Max(-lag, 0));
        var channels = next.Format.Channels;
        var (a, b) = (new double[PieceFrames * channels], new double[PieceFrames * channels]);
        var full = next.Format.FullScale - next.Format.Step / 2;
        for (var left = frames; left > 0; left -= PieceFrames)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var count = (int)Math.Min(left, PieceFrames) * channels;
            old.Read(a.AsSpan(0, count));
            next.Read(b.AsSpan(0, count));
            overlap.pieces.Add(Sum(a.AsSpan(0, count), b.AsSpan(0, count), full));
        }
        return overlap;
    }

    internal static Piece Sum(ReadOnlySpan<double> old, ReadOnlySpan<double> next, double full)
    {
        var (oldOld, oldNew, newNew, samples) = (0.0, 0.0, 0.0, 0);
        for (var i = 0; i < next.Length; i++)
        {
            if (Math.Abs(next[i]) >= full && Math.Abs(old[i]) < full)
                continue;
            oldOld += old[i] * old[i];
            oldNew += old[i] * next[i];
            newNew += next[i] * next[i];
            samples++;
        }
        return new Piece(oldOld, oldNew, newNew, samples);
    }
}
