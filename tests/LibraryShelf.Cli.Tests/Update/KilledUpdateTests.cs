using System.Diagnostics;
using System.Text;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Cli.Update;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Update;

/// <summary>The update as a process of its own, killed by the system at a step it says it has come to (<see cref="PausedUpdate"/>).</summary>
public sealed class KilledUpdateTests : IDisposable
{
    /// <summary>What .NET answers for a process that ended by signal n: 128 + n; SIGKILL is 9 (signal(7)).</summary>
    private const int KilledExitCode = 137;

    private readonly TemporaryFolder folder = new();
    private readonly SampleArchive sample = new();

    private string Top => folder.File("Kettle");
    private string Zip => folder.File("update.zip");

    public void Dispose() => folder.Dispose();

    private Recipe Version(string number, string texts) => FullArchive.Build(new FullArchiveInput
    {
        Title = "Kettle", Number = number,
        Files = [.. Enumerable.Range(0, 9).Select(i => sample.Blob($"Samples/{i}.wav", Encoding.UTF8.GetBytes(i % 3 == 0 ? $"{texts} {i}" : $"same {i}")))],
    });

    [Theory]
    [InlineData("Taken", 1, true, true)]
    [InlineData("Building", 1, true, true)]
    [InlineData("Building", 3, false, true)]
    [InlineData("Built", 1, true, true)]
    [InlineData("BetweenRenames", 1, true, false)]
    [InlineData("BetweenRenames", 1, false, false)]
    [InlineData("Exchanged", 1, true, true)]
    [InlineData("Exchanged", 1, false, false)]
    [InlineData("Tidying", 1, true, true)]
    [InlineData("Tidying", 5, false, false)]
    [InlineData("Tidied", 1, true, true)]
    public async Task The_old_or_the_new_folder_is_there_and_the_next_run_ends_it(string step, int nth, bool link, bool atOnce)
    {
        var (old, next) = (Version("1.0.0", "old"), Version("1.1.0", "new"));
        await File.WriteAllBytesAsync(folder.File("old.zip"), await sample.WriteAsync(old));
        await File.WriteAllBytesAsync(Zip, await sample.WriteAsync(UpdateArchive.Build(old, next, "1.0.0", "1.1.0")));
        OutsideTool.Run(folder.Path, "unzip", "-q", "old.zip");
        await File.WriteAllTextAsync(Path.Combine(Top, "song.txt"), "mine");

        await KillAtAsync(step, nth, link, atOnce);

        var at = Enum.Parse<UpdateStep>(step);
        if (at == UpdateStep.BetweenRenames)
        {
            Assert.False(Directory.Exists(Top));
            await AssertIsAsync(Top + ".updating-old", old);
            await AssertIsAsync(Top + ".updating-new", next);
            Assert.Contains("Run the same `shelf update` again", (await Ran.ShelfAsync("verify", Top)).Error, StringComparison.Ordinal);
        }
        else
        {
            await AssertIsAsync(Top, at < UpdateStep.Exchanged ? old : next);
        }
        var ran = await Ran.ShelfAsync("update", Top, Zip);
        Assert.True(ran.ExitCode == 0, ran.Out + ran.Error);
        await AssertIsAsync(Top, next);
        Assert.Equal(["Kettle", "old.zip", "update.zip"], Directory.EnumerateFileSystemEntries(folder.Path).Select(e => Path.GetFileName(e)).Order(StringComparer.Ordinal));
    }

    /// <summary>Killed after the exchange, with something saved in the instant before it: the next run must not clear that away.</summary>
    [Fact]
    public async Task What_was_saved_at_the_last_moment_outlives_a_kill()
    {
        var (old, next) = (Version("1.0.0", "old"), Version("1.1.0", "new"));
        await File.WriteAllBytesAsync(folder.File("old.zip"), await sample.WriteAsync(old));
        await File.WriteAllBytesAsync(Zip, await sample.WriteAsync(UpdateArchive.Build(old, next, "1.0.0", "1.1.0")));
        OutsideTool.Run(folder.Path, "unzip", "-q", "old.zip");
        await KillAtAsync("Exchanged", 1, link: true, atOnce: false);
        await File.WriteAllTextAsync(Path.Combine(Top + ".updating-old", "song.txt"), "mine");
        var ran = await Ran.ShelfAsync("update", Top, Zip);
        Assert.Equal(1, ran.ExitCode);
        Assert.Contains("as it was", ran.Out, StringComparison.Ordinal);
        Assert.Equal("mine", await File.ReadAllTextAsync(Path.Combine(Top + " as it was", "song.txt")));
        await AssertIsAsync(Top, next);
    }

    private async Task KillAtAsync(string step, int nth, bool link, bool atOnce)
    {
        string[] arguments = [typeof(PausedUpdate).Assembly.Location, step, $"{nth}", $"{link}", $"{atOnce}", Top, Zip];
        using var process = Process.Start(new ProcessStartInfo("dotnet", arguments) { UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true })!;
        var said = await process.StandardOutput.ReadLineAsync();
        if (said != $"at {step}")
            Assert.Fail($"it did not come to {step}: {said}{await process.StandardError.ReadToEndAsync()}");
        process.Kill();
        await process.WaitForExitAsync();
        Assert.Equal(KilledExitCode, process.ExitCode);
    }

    /// <summary>Every file as that version has it; one's own besides is no fault.</summary>
    private async Task AssertIsAsync(string at, Recipe wanted)
    {
        var there = Directory.EnumerateFiles(at, "*", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(at, f)).Where(f => f != "song.txt");
        Assert.Equal(wanted.Entries.Select(e => e.Path).Order(StringComparer.Ordinal), there.Order(StringComparer.Ordinal));
        var sums = OutsideTool.Run(at, "sha256sum", "-c", "--quiet", "CHECKSUMS.sha256");
        Assert.Equal("", sums.Trim());
        Assert.Equal(wanted.Entries.First(e => e.Path == "CHECKSUMS.sha256").Inline.ToArray(), await File.ReadAllBytesAsync(Path.Combine(at, "CHECKSUMS.sha256")));
    }
}
