using System.Text.Json;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Compare;

public sealed class CompareCommandTests : IDisposable
{
    private readonly TemporaryFolder folder = new();

    public CompareCommandTests()
    {
        foreach (var name in (string[])["old", "new"])
        {
            PutSound(name, "A3.wav", 57, 16000);
            PutSound(name, "B3.wav", 59, 16000);
            Put(name, "Jar.sfz", "<region> sample=A3.wav key=57\n<region> sample=B3.wav key=59\n");
        }
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public async Task Nothing_differs_is_exit_code_0()
    {
        var ran = await CompareAsync();
        Assert.Equal(new Ran(0, "Nothing differs.\n", ""), ran);
        var json = (await CompareAsync("--json")).Json();
        Assert.Equal(("libraryshelf/compare/1", 0, "none", "1.0.0"), (
            json.GetProperty("schema").GetString(), json.GetProperty("changes").GetArrayLength(),
            json.GetProperty("proposed").GetProperty("bump").GetString(), json.GetProperty("proposed").GetProperty("number").GetString()));
    }

    [Fact]
    public async Task What_differs_is_exit_code_1_and_told_in_words_and_as_JSON()
    {
        PutSound("new", "A3.wav", 57, 8000);
        PutSound("new", "C4.wav", 60, 16000);
        Put("new", "Jar.sfz", "<region> sample=A3.wav key=57\n<region> sample=B3.wav key=59\n<region> sample=C4.wav key=60\n");
        var ran = await CompareAsync("--old-number", "1.4.2");
        Assert.Equal((1, ""), (ran.ExitCode, ran.Error));
        var lines = ran.Out.Split('\n');
        Assert.Matches(@"^added +C4\.wav +C4$", lines[1]);
        // 8000 / 16000: 20·log10(0.5) = −6.02 dB.
        Assert.Matches(@"^level +A3\.wav +A3 +-6\.02", lines[2]);
        Assert.Matches(@"^remapped +Jar\.sfz +C4 +C4 sounds now$", lines[3]);
        Assert.Contains("Proposed number: 1.5.0 (minor)", lines);

        var json = (await CompareAsync("--old-number", "1.4.2", "--json")).Json();
        var level = json.GetProperty("changes").EnumerateArray().Single(c => c.GetProperty("kind").GetString() == "level");
        Assert.Equal(("A3.wav", "[57]"), (level.GetProperty("path").GetString(), JsonSerializer.Serialize(level.GetProperty("keys"))));
        Assert.InRange(level.GetProperty("gainDb").GetDouble(), -6.03, -6.01);
        Assert.Equal("1.5.0", json.GetProperty("proposed").GetProperty("number").GetString());
        var update = json.GetProperty("update");
        // A3, C4 and the mapping are carried, B3 is not; instead of its zip headers there is the note that names the two versions.
        var kept = new FileInfo(Place("new", "B3.wav")).Length;
        Assert.InRange(update.GetProperty("fullBytes").GetInt64() - update.GetProperty("bytes").GetInt64(), kept - 500, kept + 500);
    }

    [Fact]
    public async Task An_archive_is_compared_like_the_folder_it_was_made_of()
    {
        var zip = folder.File("Jar 1.0.0.zip");
        Assert.Equal(0, (await Ran.ShelfAsync("pack", folder.File("old"), "-o", zip, "--title", "Jar", "--number", "1.0.0")).ExitCode);
        // The shelf's own texts are in the archive alone, and no change.
        var same = await Ran.ShelfAsync("compare", zip, folder.File("new"));
        Assert.Equal((0, "Nothing differs.\n"), (same.ExitCode, same.Out));
        Assert.Contains("the shelf's own texts are not compared", same.Error, StringComparison.Ordinal);
        PutSound("new", "A3.wav", 57, 8000);
        // Packed by another program, deflated and with no folder around it.
        OutsideTool.Run(folder.File("new"), "zip", "-q", "-9", folder.File("other.zip"), "A3.wav", "B3.wav", "Jar.sfz");
        var (folders, archives) = ((await CompareAsync("--json")).Json(), (await Ran.ShelfAsync("compare", zip, folder.File("other.zip"), "--json")).Json());
        Assert.Equal(1, folders.GetProperty("changes").GetArrayLength());
        // Sizes hang on the folder's name too.
        foreach (var part in (string[])["changes", "proposed"])
            Assert.Equal(JsonSerializer.Serialize(folders.GetProperty(part)), JsonSerializer.Serialize(archives.GetProperty(part)));
    }

    [Fact]
    public async Task Sealed_versions_say_what_they_open_in_and_that_is_compared_too()
    {
        // As sealing writes it: Packaging's FullArchive.
        PutSealed("old", "Pondskater, version 1.8 or later\n\nOpen the mapping file from the folder.\n\nRushlight\n\nDrop it there.\n\nThen wait.\n\n");
        PutSealed("new", "Pondskater, version 2.3 or later\n\nOpen the mapping file from the folder.\n\n");
        var ran = await CompareAsync();
        Assert.Equal(1, ran.ExitCode);
        Assert.Contains("It needs Pondskater 2.3 or later, where Pondskater 1.8 was enough.", ran.Out, StringComparison.Ordinal);
        Assert.DoesNotContain("is not known here", ran.Out, StringComparison.Ordinal);
        Assert.Equal("requirement", (await CompareAsync("--json")).Json().GetProperty("changes")[0].GetProperty("kind").GetString());
        // One that says nothing of players: nothing is said, and that is said.
        File.Delete(Place("new", "INSTALL.txt"));
        Assert.Contains("What it opens in is not known here", (await CompareAsync()).Out, StringComparison.Ordinal);
    }

    private void PutSealed(string side, string players)
    {
        Put(side, "CHANGES.md", "# What changed in Jar\n");
        Put(side, "LICENCE.txt", "Licence of Jar\n");
        Put(side, "INSTALL.txt", $"How to install Jar 1.0.0\n\nUnzip, and put the folder \"Jar\" where you keep your libraries.\n\n{players}To make sure that every file arrived whole, inside the folder: sha256sum -c CHECKSUMS.sha256\n");
        Put(side, "CHECKSUMS.sha256", "");
    }

    [Fact]
    public async Task Notes_are_named_by_the_middle_C_that_was_chosen()
    {
        Put("new", "Jar.sfz", "<region> sample=A3.wav key=57\n");
        Assert.Contains("nothing sounds on B3 any more", (await CompareAsync()).Out, StringComparison.Ordinal);
        Assert.Contains("nothing sounds on B2 any more", (await CompareAsync("--middle-c", "C3")).Out, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_cannot_be_compared_is_exit_code_2_with_what_to_do()
    {
        await RefusedAsync("there is no folder", folder.File("old"), folder.File("none"));
        await RefusedAsync("is not a number", folder.File("old"), folder.File("new"), "--old-number", "v1");
        await RefusedAsync("can't be read as a zip", folder.File("old"), Place("new", "A3.wav"));
        Put("new", "Up\\down.txt", "a name that is a path elsewhere");
        await RefusedAsync("can't be packed as it is", folder.File("old"), folder.File("new"));

        static async Task RefusedAsync(string why, params string[] arguments)
        {
            var ran = await Ran.ShelfAsync(["compare", .. arguments]);
            Assert.Equal((2, ""), (ran.ExitCode, ran.Out));
            Assert.Contains(why, ran.Error, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_damaged_archive_could_not_be_compared()
    {
        OutsideTool.Run(folder.File("new"), "zip", "-q", "-9", folder.File("new.zip"), "A3.wav", "B3.wav", "Jar.sfz");
        var bytes = await File.ReadAllBytesAsync(folder.File("new.zip"));
        // The first file's deflated bytes begin behind its header: 30 bytes and the name (APPNOTE 4.3.7), and what zip adds to it.
        bytes.AsSpan(120, 400).Fill(0xFF);
        await File.WriteAllBytesAsync(folder.File("new.zip"), bytes);
        var ran = await Ran.ShelfAsync("compare", folder.File("old"), folder.File("new.zip"));
        Assert.Equal((2, ""), (ran.ExitCode, ran.Out));
        Assert.Contains("can't be read out of its archive", ran.Error, StringComparison.Ordinal);
    }

    private Task<Ran> CompareAsync(params string[] more) => Ran.ShelfAsync(["compare", folder.File("old"), folder.File("new"), .. more]);

    private string Place(string side, string path) => Path.Combine(folder.File(side), path);

    private void Put(string side, string path, string text)
    {
        Directory.CreateDirectory(folder.File(side));
        File.WriteAllText(Place(side, path), text);
    }

    /// <summary>A third of a second, mono, 16 bits, 44,100 Hz: a dying tone over a breath of noise of its own.</summary>
    private void PutSound(string side, string path, int note, int loudest)
    {
        var (random, hz) = (new Random(note), 440 * Math.Pow(2, (note - 69) / 12.0));
        byte[] data = [.. Enumerable.Range(0, 14_700).SelectMany(i => BitConverter.GetBytes((short)Math.Round(
            loudest * Math.Exp(-i / 5000.0) * (0.9 * Math.Sin(2 * Math.PI * hz * i / 44_100) + 0.1 * (random.NextDouble() - 0.5)))))];
        byte[] fmt = [1, 0, 1, 0, .. BitConverter.GetBytes(44_100), .. BitConverter.GetBytes(88_200), 2, 0, 16, 0];
        Directory.CreateDirectory(folder.File(side));
        File.WriteAllBytes(Place(side, path),
            [.. "RIFF"u8, .. BitConverter.GetBytes(36 + data.Length), .. "WAVEfmt "u8, 16, 0, 0, 0, .. fmt, .. "data"u8, .. BitConverter.GetBytes(data.Length), .. data]);
    }
}
