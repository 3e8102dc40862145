namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>Finds the loop of a held tone: as many whole periods as come nearest to a whole number of frames.</summary>
internal static class Loops
{
    private const double StartShare = 0.4;

    /// <summary>Chooses the loop and makes the tail after its start repeat it, so that the seam is silent.</summary>
    public static (int First, int Last) Over(double[][] channels, double hertz, int sampleRate)
    {
        var length = channels[0].Length;
        var first = (int)(length * StartShare);
        var span = BestSpan(length - first - 1, sampleRate / hertz);
        foreach (var frames in channels)
        {
            Blend(frames, first, span);
            for (var i = first + span; i < length; i++)
                frames[i] = frames[i - span];
        }
        return (first, first + span - 1);
    }

    private static int BestSpan(int longest, double period)
    {
        var best = (int)period;
        var error = double.MaxValue;
        for (var periods = (int)(longest * 0.7 / period); periods <= longest / period; periods++)
        {
            var off = Math.Abs((periods * period) - Math.Floor((periods * period) + 0.5));
            if (off >= error)
                continue;
            (error, best) = (off, (int)Math.Floor((periods * period) + 0.5));
        }
        return best;
    }

    /// <summary>Turns the end of the loop into what sounds just before its start, over a twentieth of its length.</summary>
    private static void Blend(double[] frames, int first, int span)
    {
        var width = Math.Min(first, span / 20);
        for (var i = 0; i < width; i++)
        {
            var share = (double)(i + 1) / width;
            var at = first + span - width + i;
            frames[at] = (frames[at] * (1 - share)) + (frames[at - span] * share);
        }
    }
}
