using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// How much each channel counts towards loudness (ITU-R BS.1770-5 Annex 1 Table 3 and, for more than 5.1, Annex 3 Table 4): 1.41 for speakers
/// beside the listener, none for the bass effects channel, 1 for all others.
/// </summary>
internal static class ChannelWeights
{
    private const double Surround = 1.41;

    // Bits of the channel mask: mmreg.h.
    private const uint LowFrequency = 0x8, BackLeftAndRight = 0x30, SideLeftAndRight = 0x600;

    public static double[] Of(SampleFormat format)
    {
        var weights = Enumerable.Repeat(1.0, format.Channels).ToArray();
        if (format.Speakers is { } speakers)
            WeighBySpeakers(weights, speakers);
        // Without a word about speakers, five and six channels are L R C Ls Rs and L R C LFE Ls Rs.
        else if (format.Channels is 5 or 6)
        {
            weights[^1] = weights[^2] = Surround;
            if (format.Channels == 6)
                weights[3] = 0;
        }
        return weights;
    }

    /// <summary>Channels stand in the order of their bits. Back speakers are the surround ones where there are none at the sides.</summary>
    private static void WeighBySpeakers(double[] weights, uint speakers)
    {
        var surround = (speakers & SideLeftAndRight) != 0 ? SideLeftAndRight : BackLeftAndRight;
        var channel = 0;
        for (var bit = 1u; bit != 0 && channel < weights.Length; bit <<= 1)
        {
            if ((speakers & bit) == 0)
                continue;
            weights[channel++] = (bit & LowFrequency) != 0 ? 0 : (bit & surround) != 0 ? Surround : 1;
        }
    }
}
