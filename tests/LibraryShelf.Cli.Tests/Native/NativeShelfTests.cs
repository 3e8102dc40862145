using System.Diagnostics;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Cli.Tests.RealInput;
using LibraryShelf.Cli.Tests.Send;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Native;

/// <summary>
/// `shelf` as makers get it: one file of machine code, made by deploy/native-shelf. What is looked up by reflection works everywhere
/// but there, so that every command's JSON is compared with what the same command says in this process.
/// </summary>
public sealed class NativeShelfTests
{
    [Fact]
    public async Task The_native_program_says_what_the_managed_one_says()
    {
        using var temporary = new TemporaryFolder();
        var made = await RunAsync("bash", Path.Combine(Root(), "deploy", "native-shelf"), temporary.Path);
        Assert.True(made.ExitCode == 0, made.Error);
        var shelf = temporary.File("shelf");
        var piano = temporary.File("piano");
        Piano.WriteFolder(piano);
        var (zip, same) = (temporary.File("piano.zip"), temporary.File("same.zip"));
        var words = temporary.File("words.json");
        await File.WriteAllTextAsync(words, """
            {"schema":"libraryshelf/words/1","changes":[{"number":"1.0.0","date":"2026-11-01","notes":"Mended a hinge."}],
             "licenceSpdx":"CC-BY-3.0","players":[{"name":"Pondskater","lowestVersion":"2.3","howToInstall":"Put it there."}],"dated":"2026-11-01"}
            """);

        await AssertSameAsync(shelf, "check", piano, "--json");
        string[] pack = ["pack", piano, "--title", "Kettle Piano", "--number", "1.0.0", "--words", words, "--json", "-o"];
        var packed = await RunAsync(shelf, [.. pack, zip]);
        var packedHere = await Ran.ShelfAsync([.. pack, same]);
        Assert.Equal((0, packedHere.Out.Replace(same, zip, StringComparison.Ordinal)), (packed.ExitCode, packed.Out));
        await AssertSameAsync(shelf, "verify", zip, "--json");
        await AssertSameAsync(shelf, "verify", piano, "--json"); // not a packed folder: what is refused reads alike
        var quieter = temporary.File("quieter");
        OutsideTool.Run(".", "cp", "-r", piano, quieter);
        OutsideTool.Run(".", "ffmpeg", "-nostdin", "-v", "error", "-y", "-i", Path.Combine(piano, Piano.Recording(60)), "-af", "volume=-3dB", "-c:a", "pcm_s24le",
            Path.Combine(quieter, Piano.Recording(60)));
        await AssertSameAsync(shelf, "compare", piano, quieter, "--json");
        await AssertSameAsync(shelf, "compare", zip, quieter);
        await AssertUpdatedAlikeAsync(shelf, zip, quieter, temporary);
        await AssertSentAlikeAsync(shelf, piano, temporary.File("cache"));
    }

    /// <summary>From the packed version to the quieter one, by a whole library: the two programs leave the same folder and say the same of it.</summary>
    private static async Task AssertUpdatedAlikeAsync(string shelf, string zip, string quieter, TemporaryFolder temporary)
    {
        var next = temporary.File("next.zip");
        Assert.Equal(0, (await Ran.ShelfAsync("pack", quieter, "--title", "Kettle Piano", "--number", "1.1.0", "-o", next)).ExitCode);
        var (native, managed) = (temporary.File("native"), temporary.File("managed"));
        foreach (var place in (string[])[native, managed])
            OutsideTool.Run(temporary.Path, "unzip", "-q", zip, "-d", place);
        var ran = await RunAsync(shelf, "update", native, next, "--json");
        Assert.True(ran.ExitCode == 0, ran.Error);
        Assert.Equal(await Ran.ShelfAsync("update", managed, next, "--json"), ran with { Out = ran.Out.Replace(native, managed, StringComparison.Ordinal) });
        Assert.Equal("", OutsideTool.Run(temporary.Path, "diff", "-r", native, managed));
        await AssertSameAsync(shelf, "verify", Path.Combine(native, "Kettle Piano"), "--json");
    }

    private static async Task AssertSentAlikeAsync(string shelf, string folder, string cache)
    {
        using var one = new PianoShelf();
        await one.StartAsync();
        var native = await RunAsync(
            shelf, ["send", folder, "--to", one.Address, "--library", "kettle", "--token", SendHost.Token, "--json"], ("XDG_CACHE_HOME", cache));
        Assert.Equal(("", 0), (native.Error.Replace("shelf: the address is http", "", StringComparison.Ordinal), native.ExitCode));
        Assert.Single(Directory.EnumerateFiles(Path.Combine(cache, "libraryshelf", "hashes")));
        using var other = new PianoShelf();
        await other.StartAsync();
        var managed = await other.SendAsync(folder);
        Assert.Equal(managed.Out.Replace(other.Address, one.Address, StringComparison.Ordinal), native.Out);
    }

    private static async Task AssertSameAsync(string shelf, params string[] arguments) =>
        Assert.Equal(await Ran.ShelfAsync(arguments), await RunAsync(shelf, arguments));

    private static Task<Ran> RunAsync(string program, params string[] arguments) => RunAsync(program, arguments, []);

    private static async Task<Ran> RunAsync(string program, string[] arguments, params (string Name, string Value)[] environment)
    {
        var start = new ProcessStartInfo(program, arguments) { UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true };
        foreach (var (name, value) in environment)
            start.Environment[name] = value;
        using var process = Process.Start(start)!;
        var (output, error) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        await process.WaitForExitAsync();
        return new Ran(process.ExitCode, await output, await error);
    }

    private static string Root()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "LibraryShelf.sln")))
            folder = folder.Parent;
        return folder!.FullName;
    }
}
