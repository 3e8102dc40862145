using System.IO.Compression;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class FullArchiveTests
{
    private readonly SampleArchive sample = new();

    private FullArchiveInput Input(params RecipeEntry[] files) => new()
    {
        Title = "Mended: Kettle",
        Number = "1.1.0",
        Files = files,
        Changes =
        [
            new("1.1.0", new DateOnly(2026, 3, 1), "Whistle re-recorded.\r\n\r\n- *quieter* lid\r\n"),
            new("1.0.0", null, ""),
        ],
        LicenceSpdx = "CC-BY-4.0",
        LicenceText = "",
        Credits = "Recorded by the kettle.",
        Players = [new("Pondskater", "2.3", "Drop the folder on it."), new("Rushlight", "", "")],
    };

    [Fact]
    public async Task Unzipped_it_is_the_makers_folder_with_four_texts_and_sha256sum_agrees()
    {
        using var folder = new TemporaryFolder();
        var recipe = FullArchive.Build(Input(sample.Blob("kettle.sfz", "<region>"u8.ToArray()), sample.Blob("Samples/Glöckchen 鈴.wav", [1, 2, 3])));
        await File.WriteAllBytesAsync(folder.File("a.zip"), await sample.WriteAsync(recipe));
        OutsideTool.Run(folder.Path, "unzip", "-q", "a.zip");
        var top = folder.File("Mended- Kettle");
        Assert.Equal(
            ["CHANGES.md", "CHECKSUMS.sha256", "INSTALL.txt", "LICENCE.txt", "Samples/Glöckchen 鈴.wav", "kettle.sfz"],
            recipe.Entries.Select(e => e.Path));
        Assert.All(recipe.Entries, e => Assert.True(File.Exists(Path.Combine(top, e.Path))));
        var verdict = OutsideTool.Run(top, "sha256sum", "--strict", "-c", "CHECKSUMS.sha256");
        Assert.Equal(5, verdict.Split('\n').Count(line => line.EndsWith(": OK", StringComparison.Ordinal)));

        Assert.Equal(
            "# What changed in Mended: Kettle\n\n## 1.1.0 (2026-03-01)\n\nWhistle re-recorded.\n\n- *quieter* lid\n\n## 1.0.0\n\nNo notes.\n",
            File.ReadAllText(Path.Combine(top, "CHANGES.md")));
        Assert.Contains("SPDX-License-Identifier: CC-BY-4.0\n", File.ReadAllText(Path.Combine(top, "LICENCE.txt")));
        Assert.EndsWith("Credits\n\nRecorded by the kettle.\n", File.ReadAllText(Path.Combine(top, "LICENCE.txt")));
        var install = File.ReadAllText(Path.Combine(top, "INSTALL.txt"));
        Assert.Contains("Pondskater, version 2.3 or later\n\nDrop the folder on it.\n", install);
        Assert.Contains("Rushlight\n\nOpen the mapping file from the folder.\n", install);
    }

    [Fact]
    public void Order_of_files_line_ends_and_outer_white_space_make_no_difference()
    {
        RecipeEntry[] files = [.. Enumerable.Range(0, 30).Select(i => sample.Blob($"S/{i}.wav", [(byte)i])), sample.Blob("ü", [1]), sample.Blob("Z", [2])];
        var one = Input(files);
        var shuffled = (RecipeEntry[])files.Clone();
        new Random(1).Shuffle(shuffled);
        var other = one with
        {
            Files = shuffled,
            Credits = "\uFEFF" + one.Credits + "\r\n\r\n",
            Changes = [.. one.Changes.Select(c => c with { Notes = c.Notes.Replace("\r\n", "\n") + "\n" })],
        };
        Assert.Equal(FullArchive.Build(one).Sha256, FullArchive.Build(other).Sha256);
        Assert.NotEqual(FullArchive.Build(one).Sha256, FullArchive.Build(one with { Number = "1.1.1" }).Sha256);
        Assert.NotEqual(FullArchive.Build(one).Sha256, FullArchive.Build(one with { Dated = new DateOnly(2026, 3, 1) }).Sha256);
    }

    /// <summary>A change here is a change of every archive made from now on: members' tools would see all of an old archive as altered.</summary>
    [Fact]
    public async Task The_bytes_are_the_same_on_every_machine_and_day()
    {
        var recipe = FullArchive.Build(Input(sample.Blob("kettle.sfz", "<region>"u8.ToArray())));
        // Both measured here when the format was fixed, on 64-bit Linux.
        Assert.Equal("dc234c2beb611a2f190d71db420c2180de0e88e5444fc5260a6e525be0344719", recipe.Sha256);
        Assert.Equal("98cbaba532fdec04c0ef269f9c109366cf4d6a72a895ee63dc2a25f060ea8c4a", Convert.ToHexStringLower(SHA256.HashData(await sample.WriteAsync(recipe))));
    }

    [Fact]
    public async Task What_the_maker_already_has_under_such_a_name_stays_and_ours_lies_beside_it()
    {
        var recipe = FullArchive.Build(Input(
            sample.Blob("changes.MD", "hers"u8.ToArray()), sample.Blob("CHANGES.shelf.md", "hers too"u8.ToArray()),
            sample.Blob("Licence.txt/deep.txt", "a folder of that name"u8.ToArray()),
            sample.Blob("CHECKSUMS.sha256", "her list"u8.ToArray()),
            sample.Blob("Docs/INSTALL.txt", "elsewhere, so not in the way"u8.ToArray())));
        Assert.Equal(
            ["CHANGES.shelf.md", "CHANGES.shelf2.md", "CHECKSUMS.sha256", "CHECKSUMS.shelf.sha256", "Docs/INSTALL.txt", "INSTALL.txt",
                "LICENCE.shelf.txt", "Licence.txt/deep.txt", "changes.MD"],
            recipe.Entries.Select(e => e.Path));
        using var zip = new ZipArchive(new MemoryStream(await sample.WriteAsync(recipe)));
        string Text(string path) => new StreamReader(zip.GetEntry("Mended- Kettle/" + path)!.Open()).ReadToEnd();
        Assert.Equal(("hers", "hers too", "her list"), (Text("changes.MD"), Text("CHANGES.shelf.md"), Text("CHECKSUMS.sha256")));
        Assert.Contains("  CHECKSUMS.sha256\n", Text("CHECKSUMS.shelf.sha256"));
        Assert.Contains("sha256sum -c CHECKSUMS.shelf.sha256", Text("INSTALL.txt"));
        Assert.Equal("CHECKSUMS.shelf.sha256", FullArchive.FindChecksums(recipe.Entries.Select(e => e.Path)));
    }

    [Fact]
    public void Without_a_licence_it_says_so_and_her_own_text_goes_in_whole()
    {
        string Licence(FullArchiveInput input) =>
            Encoding.UTF8.GetString(FullArchive.Build(input).Entries.Single(e => e.Path == "LICENCE.txt").Inline.Span);
        Assert.Contains("states no licence", Licence(Input() with { LicenceSpdx = null }));
        var own = Licence(Input() with { LicenceSpdx = null, LicenceText = "Use it for music.\nNot for bells.", Credits = "" });
        Assert.Equal("Licence of Mended: Kettle 1.1.0\n\nUse it for music.\nNot for bells.\n", own);
    }

    [Fact]
    public void The_download_is_named_after_folder_and_number() =>
        Assert.Equal("Mended- Kettle 1.1.0.zip", FullArchive.FileName("Mended: Kettle", "1.1.0"));
}
