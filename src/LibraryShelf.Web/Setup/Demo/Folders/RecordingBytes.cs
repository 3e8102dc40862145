using LibraryShelf.Web.Setup.Demo.Recipes;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Folders;

/// <summary>The finished WAV of a planned recording, with the planted fault if there is one.</summary>
internal static class RecordingBytes
{
    public const int SampleRate = 48_000;
    private const int OtherRate = 44_100;
    /// <summary>How far a clipped recording is driven past its level.</summary>
    private const double Overdrive = 2.6;
    /// <summary>A recording that is too soft is lowered to this share: 18 dB.</summary>
    private const double Softened = 0.126;
    private const double LateSeconds = 0.06;
    /// <summary>Largest sample of the fan's noise: −45 dBFS as RMS.</summary>
    private const double Fan = 0.01;
    /// <summary>A file cut short keeps this share of its bytes.</summary>
    private const double KeptShare = 0.4;

    public static byte[] Of(PlannedRecording recording)
    {
        var rate = recording.Fault == FaultKind.OtherRate ? OtherRate : SampleRate;
        var sound = recording.Fault == FaultKind.WrongNote ? recording.Sound with { Key = recording.Sound.Key - 1 } : recording.Sound;
        var rendering = Synthesiser.Render(recording.Voice, sound, rate);
        var file = WavFile.Write(Spoilt(rendering, recording), rendering.Channels, rate, recording.Sound.Key, rendering.Loop);
        return recording.Fault == FaultKind.CutShort ? file[..(int)(file.Length * KeptShare)] : file;
    }

    private static double[] Spoilt(Rendering rendering, PlannedRecording recording)
    {
        var frames = rendering.Frames;
        switch (recording.Fault)
        {
            case FaultKind.Silent: return new double[frames.Length];
            case FaultKind.Clipped: return Array.ConvertAll(frames, f => f * Overdrive);
            case FaultKind.TooSoft: return Array.ConvertAll(frames, f => f * Softened);
            case FaultKind.Late: return [.. new double[(int)(LateSeconds * rendering.SampleRate) * rendering.Channels], .. frames];
            case FaultKind.Noisy:
                var chance = SplitMix.For(recording.Sound.Seed + "fan");
                return Array.ConvertAll(frames, f => f + (Fan * chance.Signed()));
            default: return frames;
        }
    }
}
