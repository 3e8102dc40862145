using LibraryShelf.Audio.Previews;

namespace LibraryShelf.Packaging.Listening;

/// <summary>A piece of music as it is heard on a page; loudness and true peak are those of the Ogg Opus file once decoded.</summary>
public sealed record MusicFiles(ReadOnlyMemory<byte> Opus, ReadOnlyMemory<byte> Wav, double Seconds, double? LoudnessLufs, double? TruePeakDbtp);

/// <summary>Makes a piece of music fit to be heard on a page, at the loudness of everything else there.</summary>
public static class MusicMaking
{
    /// <summary>A longer piece is cut there, fading.</summary>
    public const int MostSeconds = 300;

    private const int Bitrate = 112_000, WavRate = 22_050, MostTries = 6;
    private const double Fade = 3;

    /// <param name="sound">As it was sent; one that is as long as <see cref="MostSeconds"/> fades.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <param name="told">
    /// Told each second of sound how many are gone through, of how many: all of them for each change of rate and for writing, and once more where they came out too loud.
    /// </param>
    /// <exception cref="InvalidOperationException">Its true peak stays above the limit however far the gain is lowered: nothing is given out then.</exception>
    public static MusicFiles Make(Sound sound, CancellationToken cancellationToken, Action<int, int>? told = null) => Make(sound, MostTries, cancellationToken, told);

    internal static MusicFiles Make(Sound sound, int mostTries, CancellationToken cancellationToken, Action<int, int>? told = null)
    {
        ArgumentNullException.ThrowIfNull(sound);
        var (seconds, all) = (sound.Seconds, (int)Math.Ceiling(sound.Seconds));
        var (before, total) = (0, (sound.SampleRate == OggOpus.SampleRate ? 2 : 3) * all);
        var whole = Resampler.Read(seconds >= MostSeconds ? PlayedSounds.Faded(sound, Fade) : sound, 1, OggOpus.SampleRate, Gone);
        before = total - 2 * all;
        // Five minutes are 115 MB in memory, so each is there once: made louder where it is used, measured while it comes.
        var small = Resampler.Read(whole, 1, WavRate, Gone);
        var (levels, smallPeak) = (new ListeningLevels([whole], []), SoundLevels.Of([small]).TruePeakDbtp);
        for (var tries = 1; ; tries++, total += all)
        {
            var (meter, samples) = (new LevelMeter(whole.Channels, whole.SampleRate), 0);
            before = total - all;
            var opus = OggOpus.Encode(whole, PlayedSounds.GainOf(levels.Gain), Bitrate, isConstant: false, heard =>
            {
                meter.Take(heard);
                samples += heard.Length;
                Gone(samples / (whole.Channels * OggOpus.SampleRate));
            });
            var measured = meter.Levels;
            if (!levels.Next(Math.Max(measured.TruePeakDbtp ?? -100, smallPeak + levels.Gain ?? -100), mayRaise: false))
                return new MusicFiles(opus, WavFile.Write(PlayedSounds.Louder(small, levels.Gain)), seconds, measured.LoudnessLufs, measured.TruePeakDbtp);
            if (tries == mostTries)
                throw new InvalidOperationException("The true peak stays above its limit however far the gain is lowered.");
        }

        void Gone(int done)
        {
            cancellationToken.ThrowIfCancellationRequested();
            told?.Invoke(before + done, total);
        }
    }
}
