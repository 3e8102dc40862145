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
    /// <summary>A file cut short keeps this share of its bytes.</summary>
    private const double KeptShare = 0.4;

    public static byte[] Of(PlannedRecording recording)
    {
        var rate = recording.Fault == FaultKind.OtherRate ? OtherRate : SampleRate;
        var rendering = Synthesiser.Render(recording.Voice, recording.Sound, rate);
        if (recording.Fault == FaultKind.Silent)
            Array.Clear(rendering.Frames);
        if (recording.Fault == FaultKind.Clipped)
        {
            for (var i = 0; i < rendering.Frames.Length; i++)
                rendering.Frames[i] *= Overdrive;
        }
        var file = WavFile.Write(rendering.Frames, rendering.Channels, rate, recording.Sound.Key, rendering.Loop);
        return recording.Fault == FaultKind.CutShort ? file[..(int)(file.Length * KeptShare)] : file;
    }
}
