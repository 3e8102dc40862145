using System.Text.Json;

namespace LibraryShelf.Audio.Tests.RealInput;

/// <summary>
/// A real piano's levels and onsets: measured from these files by a script of another hand (2026-11-25) on an ffmpeg decode to mono, (L + R) / √2,
/// 48 kHz, float. A cross-check, not a standard. Its own spread between two runs: peak 0.005 dB, DC 5e-7, onset 0.05 ms; the table is rounded to
/// 0.01 dB, 1e-6 and 0.1 ms. Onset there as here: the first magnitude above the peak less 40 dB.
/// </summary>
public sealed class PianoFiguresTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-audio-").FullName;

    [Theory]
    [InlineData("A0v10", 21, -6.52, -0.000006, 6.2)]
    [InlineData("C1v10", 24, -7.18, -0.000005, 5.7)]
    [InlineData("D#1v10", 27, -6.50, -0.000027, 4.4)]
    [InlineData("F#1v10", 30, -7.92, 0.000017, 4.2)]
    [InlineData("A1v10", 33, -7.96, -0.000006, 6.1)]
    [InlineData("C2v10", 36, -10.15, -0.000004, 7.9)]
    [InlineData("D#2v10", 39, -7.89, -0.000010, 6.6)]
    [InlineData("F#2v10", 42, -8.31, 0.000003, 9.4)]
    [InlineData("A2v10", 45, -8.43, -0.000003, 6.3)]
    [InlineData("C3v10", 48, -8.00, 0.000007, 10.1)]
    [InlineData("D#3v10", 51, -6.98, 0.000008, 9.0)]
    [InlineData("F#3v10", 54, -10.40, 0.000002, 7.6)]
    [InlineData("A3v10", 57, -10.62, -0.000001, 5.5)]
    [InlineData("C4v10", 60, -6.21, -0.000004, 8.8)]
    [InlineData("D#4v10", 63, -6.42, -0.000001, 11.8)]
    [InlineData("F#4v10", 66, -8.67, 0.000001, 9.9)]
    [InlineData("A4v10", 69, -10.91, 0.000001, 11.5)]
    [InlineData("C5v10", 72, -14.72, -0.000001, 6.1)]
    [InlineData("D#5v10", 75, -12.95, 0.000001, 7.2)]
    [InlineData("F#5v10", 78, -9.89, 0.000002, 11.8)]
    [InlineData("A5v10", 81, -11.24, 0.000003, 8.3)]
    [InlineData("C6v10", 84, -8.37, 0.000010, 9.0)]
    [InlineData("D#6v10", 87, -9.67, 0.000008, 6.0)]
    [InlineData("F#6v10", 90, -12.50, -0.000008, 10.0)]
    [InlineData("A6v10", 93, -12.82, 0.000000, 8.7)]
    [InlineData("C7v10", 96, -12.51, 0.000000, 10.1)]
    [InlineData("D#7v10", 99, -16.01, -0.000003, 7.7)]
    [InlineData("F#7v10", 102, -11.19, -0.000013, 7.9)]
    [InlineData("A7v10", 105, -14.71, 0.000008, 8.0)]
    [InlineData("C8v10", 108, -16.51, 0.000004, 3.4)]
    public void Peak_DC_and_onset(string name, int midi, double peakDbfs, double dc, double onsetMs)
    {
        var facts = RealRecordings.Measure(RealRecordings.PianoFile(name), Path.Combine(folder, "x.wav"),
            "-af", "pan=mono|c0=0.70710678*c0+0.70710678*c1", "-ar", "48000", "-c:a", "pcm_f32le");
        Assert.Equal(peakDbfs, facts.SamplePeakDbfs!.Value, 0.02);
        Assert.Equal(dc, facts.DcOffset[0], 2e-6);
        Assert.Equal(onsetMs, facts.LeadInMs!.Value, 0.15);
        // The plain estimate tells the note: the piano's own stretch reaches 99 cents at C8 (measured by the same hand), so one semitone is let by there.
        Assert.InRange(facts.Pitch!.Note, midi, midi == 108 ? 109 : midi);
    }

    /// <summary>Whatever the container and coding: 16 bits are exact in 24, in 32 and in float.</summary>
    [Fact]
    public void The_same_sound_measures_the_same_in_every_coding()
    {
        var wav = Path.Combine(folder, "16.wav");
        var expected = Measured(RealRecordings.Measure(RealRecordings.PianoFile("C5v10"), wav, "-c:a", "pcm_s16le"));
        foreach (var (name, codec) in new[]
        {
            ("24.wav", "pcm_s24le"), ("32.wav", "pcm_s32le"), ("f32.wav", "pcm_f32le"), ("f64.wav", "pcm_f64le"), ("16.aiff", "pcm_s16be"),
            ("24.aiff", "pcm_s24be"), ("sowt.aiff", "pcm_s16le"), ("f32.aiff", "pcm_f32be"),
        })
            Assert.Equal(expected, Measured(RealRecordings.Measure(wav, Path.Combine(folder, name), "-c:a", codec)));
    }

    /// <summary>All but what tells the coding itself; two codings of one sound are told apart by their hash, too.</summary>
    private static string Measured(RecordingFacts facts) => JsonSerializer.Serialize(facts with { Container = "", Coding = "", Bits = 0, SoundHash = "" });

    public void Dispose() => Directory.Delete(folder, recursive: true);
}
