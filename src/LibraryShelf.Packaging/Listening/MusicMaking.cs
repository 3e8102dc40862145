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
    /// <param name="cancellationToken">Stops the work between two steps of some seconds each.</param>
    public static MusicFiles Make(Sound sound, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(sound);
        var whole = Resampler.Read(sound.Seconds >= MostSeconds ? PlayedSounds.Faded(sound, Fade) : sound, 1, OggOpus.SampleRate);
        var levels = new ListeningLevels([whole], []);
        for (var tries = 1; ; tries++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var loud = PlayedSounds.Louder(whole, levels.Gain);
            var opus = OggOpus.Encode(loud, Bitrate, isConstant: false);
            cancellationToken.ThrowIfCancellationRequested();
            var small = Resampler.Read(loud, 1, WavRate);
            var measured = SoundLevels.Of([opus.Heard]);
            if (tries == MostTries || !levels.Next(Math.Max(measured.TruePeakDbtp ?? -100, SoundLevels.Of([small]).TruePeakDbtp ?? -100), mayRaise: false))
                return new MusicFiles(opus.Bytes, WavFile.Write(small), sound.Seconds, measured.LoudnessLufs, measured.TruePeakDbtp);
        }
    }
}
