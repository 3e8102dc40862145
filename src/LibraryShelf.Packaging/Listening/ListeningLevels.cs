using LibraryShelf.Audio.Previews;

namespace LibraryShelf.Packaging.Listening;

/// <summary>
/// The one gain of a library: towards the target of loudness, as far as no file's true peak comes out above the limit. A codec changes peaks, so what counts is
/// measured behind it (<see cref="Next"/>).
/// </summary>
internal sealed class ListeningLevels
{
    /// <summary>Left below the limit at first, where the limit is near: what a codec adds to a peak is seldom more, and encoding twice is twice the work.</summary>
    private const double Room = 0.6;

    /// <summary>Below the limit when a gain is changed once more.</summary>
    private const double Margin = 0.05;

    /// <summary>Loudness given away for less is not worth encoding everything again.</summary>
    private const double Worth = 1;

    /// <summary>Beyond it nothing is made louder, whatever it is: that would be noise. 60 dB is common practice, no source.</summary>
    private const double MostGain = 60;

    private readonly double? wanted;

    /// <param name="phrases">Not changed yet.</param>
    /// <param name="peaks">True peaks of all else that goes out, dBTP, as they were recorded.</param>
    public ListeningLevels(IReadOnlyList<Sound> phrases, IEnumerable<double?> peaks)
    {
        var levels = SoundLevels.Of(phrases);
        wanted = ListeningSet.TargetLufs - levels.LoudnessLufs;
        Gain = Math.Min(Wanted, ListeningSet.LimitDbtp - Room - peaks.Append(levels.TruePeakDbtp).OfType<double>().DefaultIfEmpty(0).Max());
    }

    /// <summary>dB.</summary>
    public double Gain { get; private set; }

    /// <summary>The limit kept it below the target.</summary>
    public bool IsLimited => Gain < (wanted ?? double.MaxValue) - 0.01;

    private double Wanted => Math.Min(wanted ?? MostGain, MostGain);

    /// <summary>Whether another gain has to be tried, and sets it.</summary>
    /// <param name="truePeak">The greatest that came out with <see cref="Gain"/>, dBTP.</param>
    /// <param name="mayRaise">False: only what has to be lowered is.</param>
    public bool Next(double? truePeak, bool mayRaise)
    {
        if (truePeak is not { } peak)
            return false;
        var next = Math.Min(Wanted, Gain + ListeningSet.LimitDbtp - Margin - peak);
        if (peak <= ListeningSet.LimitDbtp && !(mayRaise && next > Gain + Worth))
            return false;
        Gain = next;
        return true;
    }
}
