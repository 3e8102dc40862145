using System.Text;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Verify;

public sealed class VerifyCommandTests : IAsyncLifetime, IDisposable
{
    private readonly TemporaryFolder folder = new();
    private string Top => folder.File("Kettle");
    private string Zip => folder.File("k.zip");

    public async Task InitializeAsync()
    {
        Directory.CreateDirectory(folder.File("lib/Samples"));
        File.WriteAllText(folder.File("lib/kettle.sfz"), "<region>");
        File.WriteAllText(folder.File("lib/Samples/C4.wav"), "the sound of C4");
        File.WriteAllText(folder.File("lib/Samples/D4.wav"), "the sound of D4");
        var packed = await Ran.ShelfAsync("pack", folder.File("lib"), "-o", Zip, "--title", "Kettle", "--number", "1.0.0");
        Assert.Equal(0, packed.ExitCode);
        OutsideTool.Run(folder.Path, "unzip", "-q", "k.zip");
    }

    public Task DisposeAsync() => Task.CompletedTask;

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task What_was_just_packed_is_fine_zipped_and_unzipped()
    {
        Assert.Equal(0, (await Ran.ShelfAsync("verify", Zip)).ExitCode);
        var ran = await Ran.ShelfAsync("verify", Top);
        Assert.Equal((0, $"{Top}: all 6 files are as they were packed.\n"), (ran.ExitCode, ran.Out));
    }

    [Fact]
    public async Task An_altered_byte_in_the_archive_is_found_and_its_file_named()
    {
        var bytes = File.ReadAllBytes(Zip);
        bytes[bytes.AsSpan().IndexOf("the sound of D4"u8)] ^= 1;
        File.WriteAllBytes(Zip, bytes);
        var ran = await Ran.ShelfAsync("verify", Zip);
        Assert.Equal(1, ran.ExitCode);
        Assert.Contains("altered: Kettle/Samples/D4.wav: ", ran.Out);
        Assert.DoesNotContain("C4", ran.Out);
    }

    [Fact]
    public async Task Altered_missing_extra_and_renamed_files_of_a_folder_are_told_apart()
    {
        File.AppendAllText(Path.Combine(Top, "kettle.sfz"), " ");
        File.Move(Path.Combine(Top, "Samples/C4.wav"), Path.Combine(Top, "Samples/c4.wav"));
        File.Delete(Path.Combine(Top, "Samples/D4.wav"));
        File.WriteAllText(Path.Combine(Top, "my own.txt"), "x");
        File.WriteAllText(Path.Combine(Top, ".DS_Store"), "left by a system, so no extra");
        var ran = await Ran.ShelfAsync("verify", Top, "--json");
        Assert.Equal(1, ran.ExitCode);
        var json = ran.Json();
        Assert.Equal("libraryshelf/verify/1", json.GetProperty("schema").GetString());
        Assert.False(json.GetProperty("whole").GetBoolean());
        Assert.Equal(
            ["renamed Samples/C4.wav", "missing Samples/D4.wav", "altered kettle.sfz", "extra my own.txt"],
            json.GetProperty("discrepancies").EnumerateArray().Select(d => $"{d.GetProperty("kind")} {d.GetProperty("path")}"));
    }

    [Fact]
    public async Task A_list_that_points_out_of_the_folder_reads_nothing_there()
    {
        File.AppendAllText(Path.Combine(Top, "CHECKSUMS.sha256"), new string('0', 64) + "  ../lib/kettle.sfz\n");
        Assert.Contains("missing: ../lib/kettle.sfz", (await Ran.ShelfAsync("verify", Top)).Out);
    }

    [Fact]
    public async Task Without_a_list_there_is_nothing_to_verify_against()
    {
        var ran = await Ran.ShelfAsync("verify", folder.File("lib"));
        Assert.Equal((2, ""), (ran.ExitCode, ran.Out));
        Assert.Contains("no CHECKSUMS.sha256", ran.Error);
        File.WriteAllText(Path.Combine(Top, "CHECKSUMS.sha256"), "nonsense", Encoding.UTF8);
        Assert.Contains("Line 1", (await Ran.ShelfAsync("verify", Top)).Error);
        Assert.Equal(2, (await Ran.ShelfAsync("verify", folder.File("nowhere"))).ExitCode);
    }
}
