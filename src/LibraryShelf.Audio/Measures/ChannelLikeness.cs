namespace LibraryShelf.Audio.Measures;

/// <summary>
/// Whether all channels hold the same samples, or the second of two is the first turned upside down. A difference of one step is forgiven where
/// the sound is far above it: rounding and dither make that much.
/// </summary>
/// <param name="channels">In a frame.</param>
/// <param name="step">The least difference between two samples, full scale 1.</param>
internal sealed class ChannelLikeness(int channels, double step)
{
    /// <summary>Steps that a sound must reach before one of them is nothing (48 dB).</summary>
    private const int FarAbove = 256;

    /// <summary>A step as it comes out of a subtraction of doubles.</summary>
    private readonly double tolerance = step * 1.0001;

    private bool mayBeIdentical = channels >= 2, mayBeInverted = channels == 2, identicalToTheBit = true, invertedToTheBit = true;

    public bool AreIdentical(double peak) => mayBeIdentical && (identicalToTheBit || peak >= FarAbove * step);

    public bool AreInverted(double peak) => mayBeInverted && (invertedToTheBit || peak >= FarAbove * step);

    /// <summary>A stretch of the first channel and of another; given up for good at the first difference, so most recordings cost one look.</summary>
    public void Take(ReadOnlySpan<double> first, ReadOnlySpan<double> other)
    {
        if (mayBeIdentical && !first.SequenceEqual(other))
            (identicalToTheBit, mayBeIdentical) = (false, IsNear(first, other, 1));
        if (mayBeInverted)
            mayBeInverted = IsNear(first, other, -1);
    }

    private bool IsNear(ReadOnlySpan<double> first, ReadOnlySpan<double> other, int sign)
    {
        for (var i = 0; i < first.Length; i++)
        {
            var difference = Math.Abs(first[i] - sign * other[i]);
            if (difference > tolerance)
                return false;
            if (sign < 0 && difference > 0)
                invertedToTheBit = false;
        }
        return true;
    }
}
