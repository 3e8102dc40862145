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
    /// <param name="told">Told each second of sound how many are written, of how many: all of them are written once more, softer, when they came out too loud.</param>
    public static MusicFiles Make(Sound sound, CancellationToken cancellationToken, Action<int, int>? told = null)
    {
        ArgumentNullException.ThrowIfNull(sound);
        var (seconds, all) = (sound.Seconds, (int)Math.Ceiling(sound.Seconds));
        var whole = Resampler.Read(seconds >= MostSeconds ? PlayedSounds.Faded(sound, Fade) : sound, 1, OggOpus.SampleRate);
        cancellationToken.ThrowIfCancellationRequested();
        // Five minutes are 115 MB in memory, so each is there once: made louder where it is used, measured while it comes.
        var small = Resampler.Read(whole, 1, WavRate);
        var (levels, smallPeak) = (new ListeningLevels([whole], []), SoundLevels.Of([small]).TruePeakDbtp);
        for (var tries = 1; ; tries++)
        {
            var meter = new LevelMeter(whole.Channels, whole.SampleRate);
            var (round, samples) = (tries, 0);
            var opus = OggOpus.Encode(whole, PlayedSounds.GainOf(levels.Gain), Bitrate, isConstant: false, heard =>
            {
                cancellationToken.ThrowIfCancellationRequested();
                meter.Take(heard);
                samples += heard.Length;
                told?.Invoke((round - 1) * all + samples / (whole.Channels * OggOpus.SampleRate), round * all);
            });
            var measured = meter.Levels;
            if (tries == MostTries || !levels.Next(Math.Max(measured.TruePeakDbtp ?? -100, smallPeak + levels.Gain ?? -100), mayRaise: false))
                return new MusicFiles(opus, WavFile.Write(PlayedSounds.Louder(small, levels.Gain)), seconds, measured.LoudnessLufs, measured.TruePeakDbtp);
        }
    }
}
