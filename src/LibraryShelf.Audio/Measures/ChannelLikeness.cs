namespace LibraryShelf.Audio.Measures;

/// <summary>Whether all channels hold the same samples, or the second of two is the first turned upside down.</summary>
internal sealed class ChannelLikeness(int channels)
{
    public bool AreIdentical { get; private set; } = channels >= 2;

    /// <summary>Also true of silence, which is its own opposite.</summary>
    public bool AreInverted { get; private set; } = channels == 2;

    /// <summary>A stretch of each channel in turn; given up for good at the first difference, so most recordings cost one look.</summary>
    public void Take(ReadOnlySpan<double> first, ReadOnlySpan<double> other)
    {
        AreIdentical = AreIdentical && first.SequenceEqual(other);
        AreInverted = AreInverted && IsOpposite(first, other);
    }

    private static bool IsOpposite(ReadOnlySpan<double> first, ReadOnlySpan<double> other)
    {
        for (var i = 0; i < first.Length; i++)
            if (first[i] + other[i] != 0)
                return false;
        return true;
    }
}
