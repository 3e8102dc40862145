using System.Security.Cryptography;
using System.Text.Json;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Tests.Check;

public sealed class CheckCommandTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-check-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_sound_folder_is_fine()
    {
        PutSound("A3.wav", 1000);
        Put("Jar.sfz", "<region> sample=A3.wav key=57");
        var (code, output, error) = await RunAsync("check", folder);
        Assert.Equal((0, ""), (code, error));
        Assert.StartsWith("1 recording, 1 key (A3 to A3), 1 layer, 1 take\n", output, StringComparison.Ordinal);
        Assert.EndsWith("0 must fix, 0 listen again, 1 recording fine\n", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_must_fix_is_exit_code_1_and_a_listen_again_is_not()
    {
        PutSound("A3.wav", 1000);
        Assert.Equal(0, (await RunAsync("check", folder)).Code); // no mapping: listen again
        PutSound("B3.wav", 0);
        var (code, output, _) = await RunAsync("check", folder);
        Assert.Equal(1, code);
        Assert.Contains("must fix      B3.wav", output, StringComparison.Ordinal);
        Assert.Contains("[recording-silent]", output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_cannot_be_checked_is_exit_code_2()
    {
        var (code, output, error) = await RunAsync("check", Path.Combine(folder, "none"));
        Assert.Equal((2, ""), (code, output));
        Assert.StartsWith("shelf: there is no folder", error, StringComparison.Ordinal);
        Assert.Equal(2, (await RunAsync("check")).Code);
    }

    [Fact]
    public async Task Json_has_the_shape_that_scripts_rely_on()
    {
        PutSound("A3.wav", 16384);
        PutSound("B3.wav", 0);
        Put("Jar.sfz", "<region> sample=A3.wav key=57\n<region> sample=gone.wav key=58");
        var (code, output, _) = await RunAsync("check", folder, "--json");
        Assert.Equal(1, code);
        using var document = JsonDocument.Parse(output);
        var root = document.RootElement;
        Assert.Equal("libraryshelf/check/1", root.GetProperty("schema").GetString());
        var first = root.GetProperty("recordings")[0];
        Assert.Equal("A3.wav", first.GetProperty("path").GetString());
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(await File.ReadAllBytesAsync(Path.Combine(folder, "A3.wav")))), first.GetProperty("sha256").GetString());
        Assert.Equal("""{"container":"wav","coding":"pcm","sampleRate":44100,"bits":16,"channels":1,"frames":8820}""", Compact(first.GetProperty("format")));
        // 16384 / 32768 = 0.5: 20·log10(0.5) = −6.0206 dB.
        var levels = first.GetProperty("levels");
        Assert.Equal((-6.0206, 0), (levels.GetProperty("samplePeakDbfs").GetDouble(), levels.GetProperty("clippedRuns").GetInt32()));
        Assert.True(levels.GetProperty("truePeakDbtp").GetDouble() >= -6.0206);
        // 200 ms hold no block of 400 ms (BS.1770-5): no loudness.
        Assert.False(levels.TryGetProperty("loudnessLufs", out _));
        Assert.Equal(0, first.GetProperty("time").GetProperty("leadInMs").GetDouble());
        Assert.Equal("""{"note":57,"from":"mapping"}""", Compact(first.GetProperty("declared")));
        Assert.Equal(0, first.GetProperty("findings").GetArrayLength());
        var second = root.GetProperty("recordings")[1];
        Assert.Equal("""{"dcOffset":[0],"clippedRuns":0}""", Compact(second.GetProperty("levels")));
        Assert.Equal("must-fix", second.GetProperty("findings")[0].GetProperty("severity").GetString());
        var library = root.GetProperty("library");
        Assert.Equal((2, 1, 1), (library.GetProperty("keys").GetInt32(), library.GetProperty("layers").GetInt32(), library.GetProperty("takes").GetInt32()));
        Assert.Equal("mapping-missing-file", library.GetProperty("findings")[0].GetProperty("code").GetString());
        Assert.Equal("""{"mustFix":2,"listenAgain":1,"fine":1}""", Compact(root.GetProperty("summary")));
    }

    [Fact]
    public async Task A_kit_may_have_gaps()
    {
        PutSound("a.wav", 1000);
        Put("Kit.sfz", "<region> sample=a.wav key=36\n<region> sample=a.wav key=40");
        Assert.Contains("keys-missing", (await RunAsync("check", folder)).Output, StringComparison.Ordinal);
        Assert.DoesNotContain("keys-missing", (await RunAsync("check", folder, "--unpitched")).Output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Limits_come_from_a_file_and_a_bad_one_is_exit_code_2()
    {
        PutSound("A3.wav", 16384);
        Put("Jar.sfz", "<region> sample=A3.wav key=57");
        Put("limits.txt", """{"schema":"libraryshelf/limits/1","highestTruePeakDbtp":-9}""");
        var limits = Path.Combine(folder, "limits.txt");
        var (code, output, _) = await RunAsync("check", folder, "--limits", limits);
        Assert.Equal(0, code);
        Assert.Contains("above −9.0", output, StringComparison.Ordinal);
        Put("limits.txt", """{"schema":"libraryshelf/limits/1","loudest":-9}""");
        var (refused, _, error) = await RunAsync("check", folder, "--limits", limits);
        Assert.Equal(2, refused);
        Assert.Contains("there is no limit “loudest”", error, StringComparison.Ordinal);
        Assert.Equal(2, (await RunAsync("check", folder, "--limits", Path.Combine(folder, "gone"))).Code);
    }

    [Fact]
    public async Task Notes_are_named_by_the_middle_C_that_was_chosen()
    {
        PutSound("C3.wav", 16384);
        Assert.Equal(48, await NoteAsync("C4"));
        Assert.Equal(60, await NoteAsync("C3"));
        Assert.Contains("  C3  ", (await RunAsync("check", folder, "--middle-c", "C3")).Output, StringComparison.Ordinal);
        Assert.Equal(2, (await RunAsync("check", folder, "--middle-c", "C5")).Code);

        async Task<int> NoteAsync(string middleC)
        {
            using var document = JsonDocument.Parse((await RunAsync("check", folder, "--json", "--middle-c", middleC)).Output);
            return document.RootElement.GetProperty("recordings")[0].GetProperty("declared").GetProperty("note").GetInt32();
        }
    }

    [Fact]
    public async Task The_table_tells_of_every_recording_worst_first_with_its_figures()
    {
        PutSound("A3.wav", 16384);
        PutSound("B3.wav", 0);
        Put("Jar.sfz", "<region> sample=A3.wav key=57 <region> sample=B3.wav key=58");
        var lines = (await RunAsync("check", folder)).Output.Split('\n');
        var head = Array.FindIndex(lines, l => l.StartsWith("Verdict", StringComparison.Ordinal));
        Assert.StartsWith("must fix      B3.wav", lines[head + 1], StringComparison.Ordinal);
        Assert.Contains("[recording-silent]", lines[head + 2], StringComparison.Ordinal);
        Assert.Matches(@"^fine +A3\.wav +A3 +1/1 +1 +-6\.0 ", lines[head + 3]);
        Assert.All(lines[head..(head + 2)], l => Assert.True(l.Length <= 110, l));
    }

    private static string Compact(JsonElement element) => JsonSerializer.Serialize(element);

    private static async Task<(int Code, string Output, string Error)> RunAsync(params string[] args)
    {
        using var output = new StringWriter { NewLine = "\n" };
        using var error = new StringWriter { NewLine = "\n" };
        var code = await ShelfCommands.RunAsync(args, new ShelfConsole(output, error, errorIsTerminal: false), CancellationToken.None);
        return (code, output.ToString(), error.ToString());
    }

    private void Put(string path, string text) => File.WriteAllText(Path.Combine(folder, path), text);

    /// <summary>A fifth of a second, mono, 16 bits, 44,100 Hz: a dying square wave whose first samples are the loudest.</summary>
    private void PutSound(string path, short loudest)
    {
        const int frames = 8820;
        byte[] fmt = [1, 0, 1, 0, .. BitConverter.GetBytes(44100), .. BitConverter.GetBytes(88200), 2, 0, 16, 0];
        byte[] data = [.. Enumerable.Range(0, frames).SelectMany(i => BitConverter.GetBytes((short)(loudest * (i / 50 % 2 == 0 ? 1 : -1) * Math.Exp(-(i / 50) / 18.0))))];
        File.WriteAllBytes(Path.Combine(folder, path),
            [.. "RIFF"u8, .. BitConverter.GetBytes(36 + data.Length), .. "WAVEfmt "u8, 16, 0, 0, 0, .. fmt, .. "data"u8, .. BitConverter.GetBytes(data.Length), .. data]);
    }
}
