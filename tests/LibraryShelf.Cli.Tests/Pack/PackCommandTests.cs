using System.IO.Hashing;
using System.Security.Cryptography;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Pack;

public sealed class PackCommandTests : IDisposable
{
    private readonly TemporaryFolder folder = new();
    private readonly string library;
    private readonly string zip;

    public PackCommandTests()
    {
        library = folder.File("Kettle source");
        zip = folder.File("kettle.zip");
        Write("kettle.sfz", "<region> sample=Samples/C4.wav");
        Write("Samples/C4.wav", "not quite a recording");
        Write("Samples/Glöckchen 鈴.wav", "nor this");
        Write("Samples/empty.wav", "");
    }

    public void Dispose() => folder.Dispose();

    private void Write(string path, string text)
    {
        Directory.CreateDirectory(Path.GetDirectoryName(Path.Combine(library, path))!);
        File.WriteAllText(Path.Combine(library, path), text);
    }

    private Task<Ran> PackAsync(params string[] more) =>
        Ran.ShelfAsync(["pack", library, "-o", zip, "--title", "Mended Kettle", "--number", "1.2.0", .. more]);

    [Fact]
    public async Task Packs_what_unzip_unpacks_and_sha256sum_accepts()
    {
        File.WriteAllText(folder.File("notes.md"), "Whistle re-recorded.");
        File.WriteAllText(folder.File("credits.txt"), "Recorded in the kitchen.");
        var ran = await PackAsync("--notes", folder.File("notes.md"), "--licence", "CC0-1.0", "--credits", folder.File("credits.txt"), "--dated", "2026-03-01");
        Assert.Equal((0, ""), (ran.ExitCode, ran.Error));
        OutsideTool.Run(folder.Path, "unzip", "-q", "kettle.zip");
        var top = folder.File("Mended Kettle");
        OutsideTool.Run(top, "sha256sum", "--strict", "-c", "CHECKSUMS.sha256");
        Assert.Equal("nor this", File.ReadAllText(Path.Combine(top, "Samples/Glöckchen 鈴.wav")));
        Assert.Contains("## 1.2.0 (2026-03-01)\n\nWhistle re-recorded.", File.ReadAllText(Path.Combine(top, "CHANGES.md")));
        Assert.Contains("CC0-1.0", File.ReadAllText(Path.Combine(top, "LICENCE.txt")));
        Assert.Contains("Recorded in the kitchen.", File.ReadAllText(Path.Combine(top, "LICENCE.txt")));
        Assert.False(File.Exists(zip + ".part"));
    }

    [Fact]
    public async Task Json_tells_what_sha256sum_tells()
    {
        Write(".DS_Store", "x");
        Write("Samples/Thumbs.db", "x");
        var json = (await PackAsync("--json")).Json();
        Assert.Equal("libraryshelf/pack/1", json.GetProperty("schema").GetString());
        Assert.Equal(8, json.GetProperty("files").GetInt32());
        Assert.Equal(new FileInfo(zip).Length, json.GetProperty("bytes").GetInt64());
        Assert.StartsWith(json.GetProperty("sha256").GetString()!, OutsideTool.Run(folder.Path, "sha256sum", "kettle.zip"));
        Assert.Equal([".DS_Store", "Samples/Thumbs.db"], json.GetProperty("passedOver").EnumerateArray().Select(e => e.GetString()));
    }

    [Fact]
    public async Task The_same_folder_written_in_another_order_gives_the_same_bytes()
    {
        await PackAsync();
        var first = File.ReadAllBytes(zip);
        Directory.Delete(library, recursive: true);
        Write("Samples/empty.wav", "");
        Write("Samples/Glöckchen 鈴.wav", "nor this");
        Write("Samples/C4.wav", "not quite a recording");
        Write("kettle.sfz", "<region> sample=Samples/C4.wav");
        Write("desktop.ini", "left by a system");
        await PackAsync();
        Assert.Equal(first, File.ReadAllBytes(zip));
    }

    [Fact]
    public async Task Her_own_file_is_kept_and_both_are_said()
    {
        Write("Changes.md", "hers");
        var ran = await PackAsync();
        Assert.Contains("kept your own CHANGES.md; the shelf's is CHANGES.shelf.md", ran.Out);
        OutsideTool.Run(folder.Path, "unzip", "-q", "kettle.zip");
        Assert.Equal("hers", File.ReadAllText(folder.File("Mended Kettle/Changes.md")));
    }

    [Fact]
    public async Task A_licence_file_is_her_own_text()
    {
        File.WriteAllText(folder.File("mine.txt"), "Use it for music.");
        await PackAsync("--licence", folder.File("mine.txt"));
        Assert.Contains("Use it for music.", OutsideTool.Run(folder.Path, "unzip", "-p", "kettle.zip", "Mended Kettle/LICENCE.txt"));
    }

    [Theory]
    [InlineData("--number 1.2", "not a version number")]
    [InlineData("--title  ", "--title is empty")]
    [InlineData("--dated 2026-02-30", "not a date")]
    [InlineData("--dated 1979-12-31", "between 1980 and 2107")]
    [InlineData("--notes nowhere.md", "there is no file nowhere.md")]
    [InlineData("--licence licence.txt", "neither a file nor an SPDX")]
    [InlineData("-o /nowhere-at-all/k.zip", "there is no folder /nowhere-at-all")]
    public async Task What_cannot_be_is_said_and_no_archive_is_left(string option, string says)
    {
        var (name, value) = (option.Split(' ')[0], option.Split(' ', 2)[1]);
        string[] usual = ["-o", zip, "--title", "Kettle", "--number", "1.0.0"];
        var at = Array.IndexOf(usual, name);
        string[] arguments = at < 0 ? [.. usual, name, value] : [.. usual[..at], name, value, .. usual[(at + 2)..]];
        var ran = await Ran.ShelfAsync(["pack", library, .. arguments]);
        Assert.Equal((2, ""), (ran.ExitCode, ran.Out));
        Assert.Contains(says, ran.Error);
        Assert.False(File.Exists(zip));
    }

    [Fact]
    public async Task A_folder_that_cannot_be_packed_says_why_and_leaves_the_older_archive()
    {
        await PackAsync();
        var before = File.ReadAllBytes(zip);
        Write("a\\b.wav", "x");
        var ran = await PackAsync();
        Assert.Equal(2, ran.ExitCode);
        Assert.Contains("a\\b.wav", ran.Error);
        Assert.Equal(before, File.ReadAllBytes(zip));
        Assert.False(File.Exists(zip + ".part"));
    }

    /// <summary>What sealing does with the same files and words: the very same recipe.</summary>
    [Fact]
    public async Task With_the_same_words_the_bytes_are_those_of_sealing()
    {
        File.WriteAllText(folder.File("words.json"), """
            { "schema": "libraryshelf/words/1", "licenceSpdx": "CC0-1.0", "credits": "The kitchen.",
              "changes": [ { "number": "1.2.0", "date": "2026-11-25", "notes": "Lid." }, { "number": "1.0.0", "date": null, "notes": "" } ],
              "players": [ { "name": "Pondskater", "lowestVersion": "2.3", "howToInstall": "Drop it." } ] }
            """);
        var json = (await PackAsync("--words", folder.File("words.json"), "--json")).Json();
        var files = new[] { "kettle.sfz", "Samples/empty.wav", "Samples/Glöckchen 鈴.wav", "Samples/C4.wav" }
            .Select(path => (path, bytes: File.ReadAllBytes(Path.Combine(library, path))))
            .Select(f => RecipeEntry.FromBlob(f.path, f.bytes.Length, Crc32.HashToUInt32(f.bytes), Convert.ToHexStringLower(SHA256.HashData(f.bytes))));
        var sealing = FullArchive.Build(new FullArchiveInput
        {
            Title = "Mended Kettle",
            Number = "1.2.0",
            Files = [.. files],
            Changes = [new("1.2.0", new DateOnly(2026, 11, 25), "Lid."), new("1.0.0", null, "")],
            LicenceSpdx = "CC0-1.0",
            Credits = "The kitchen.",
            Players = [new("Pondskater", "2.3", "Drop it.")],
        });
        Assert.Equal(sealing.Sha256, json.GetProperty("recipeSha256").GetString());
    }

    [Theory]
    [InlineData("nonsense", "can't be read")]
    [InlineData("null", "says nothing")]
    [InlineData("""{"schema":"libraryshelf/words/2","changes":[{"number":"1.2.0","date":null,"notes":""}]}""", "libraryshelf/words/2")]
    [InlineData("""{"schema":"libraryshelf/words/1","changes":[{"number":"1.1.0","date":null,"notes":""}]}""", "has to be that of 1.2.0")]
    [InlineData("""{"schema":"libraryshelf/words/1","licence":"CC0-1.0"}""", "can't be read")]
    [InlineData("""{"schema":"libraryshelf/words/1","credits":null}""", "can't be read")]
    public async Task Words_that_are_none_are_refused(string words, string says)
    {
        File.WriteAllText(folder.File("words.json"), words);
        var ran = await PackAsync("--words", folder.File("words.json"));
        Assert.Equal(2, ran.ExitCode);
        Assert.Contains(says, ran.Error);
        Assert.Contains("leave those options away", (await PackAsync("--words", folder.File("words.json"), "--licence", "CC0-1.0")).Error);
    }

    [Fact]
    public async Task Links_to_folders_empty_folders_and_an_output_inside_are_refused()
    {
        Directory.CreateSymbolicLink(Path.Combine(library, "loop"), library);
        Assert.Contains("\"loop\" is a link to a folder", (await PackAsync()).Error);
        Directory.CreateDirectory(folder.File("none"));
        Assert.Contains("no file in", (await Ran.ShelfAsync("pack", folder.File("none"), "-o", zip, "--title", "T", "--number", "1.0.0")).Error);
        Assert.Contains("no folder", (await Ran.ShelfAsync("pack", folder.File("nowhere"), "-o", zip, "--title", "T", "--number", "1.0.0")).Error);
        Assert.Contains("lies in the folder that is packed", (await Ran.ShelfAsync("pack", library, "-o", Path.Combine(library, "k.zip"), "--title", "T", "--number", "1.0.0")).Error);
    }

    [Fact]
    public async Task Progress_is_drawn_on_a_terminal_only()
    {
        string[] arguments = ["pack", library, "-o", zip, "--title", "T", "--number", "1.0.0"];
        Assert.Contains("%", (await Ran.ShelfAsync(onTerminal: true, arguments)).Error);
        Assert.Equal("", (await Ran.ShelfAsync(onTerminal: false, arguments)).Error);
    }
}
