using LibraryShelf.Cli.Output;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Cli.Update;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Update;

public sealed class UpdateCommandTests : IDisposable
{
    /// <summary>Stands for a kill: nothing in the program catches it.</summary>
    private sealed class KilledException : Exception
    {
        public KilledException() { }
        public KilledException(string message) : base(message) { }
        public KilledException(string message, Exception innerException) : base(message, innerException) { }
    }

    private readonly TemporaryFolder folder = new();
    private readonly SampleArchive sample = new();
    /// <summary>Names exchanged at once have no between.</summary>
    public static TheoryData<string, bool, bool> Cuts()
    {
        var cuts = new TheoryData<string, bool, bool>();
        foreach (var step in Enum.GetValues<UpdateStep>())
        {
            foreach (var link in (bool[])[true, false])
            {
                cuts.Add(step.ToString(), link, false);
                if (step != UpdateStep.BetweenRenames)
                    cuts.Add(step.ToString(), link, true);
            }
        }
        return cuts;
    }

    private string Top => folder.File("Kettle");
    private string Zip => folder.File("update.zip");

    public void Dispose() => folder.Dispose();

    private Recipe Version(string number, params (string Path, string Content)[] files) => FullArchive.Build(new FullArchiveInput
    {
        Title = "Kettle", Number = number, Files = [.. files.Select(f => sample.Blob(f.Path, System.Text.Encoding.UTF8.GetBytes(f.Content)))],
    });

    private Recipe Old => Version("1.0.0", ("a.wav", "a"), ("Samples/b.wav", "b"), ("Kick.wav", "k"), ("gone/c.wav", "c"));

    private Recipe Next => Version("1.1.0", ("a.wav", "a"), ("Samples/b.wav", "B!"), ("kick.wav", "k"), ("d.wav", "d"));

    private Recipe UpdateRecipe => UpdateArchive.Build(Old, Next, "1.0.0", "1.1.0");

    private async Task LayOutAsync(Recipe old, Recipe archive)
    {
        await File.WriteAllBytesAsync(folder.File("old.zip"), await sample.WriteAsync(old));
        await File.WriteAllBytesAsync(Zip, await sample.WriteAsync(archive));
        OutsideTool.Run(folder.Path, "unzip", "-q", "old.zip");
    }

    private static string[] Files(string at) => [.. Directory.EnumerateFiles(at, "*", SearchOption.AllDirectories)
        .Select(f => Path.GetRelativePath(at, f)).Order(StringComparer.Ordinal)];

    private async Task AssertWholeAsync(Recipe wanted)
    {
        Assert.Equal(wanted.Entries.Select(e => e.Path).Order(StringComparer.Ordinal), Files(Top));
        var ran = await Ran.ShelfAsync("verify", Top);
        Assert.True(ran.ExitCode == 0, ran.Out + ran.Error);
    }

    private void AssertNothingBeside() => Assert.DoesNotContain(Directory.EnumerateFileSystemEntries(folder.Path), e => e.Contains(".updating-", StringComparison.Ordinal));

    private static FolderUpdater Updater(Action<UpdateStep>? reached = null, bool link = true, bool atOnce = true) =>
        new(new ShelfConsole(TextWriter.Null, TextWriter.Null, errorIsTerminal: false))
        {
            Reached = reached ?? (_ => { }), Link = link ? SystemCalls.TryLink : (_, _) => false, ExchangeAtOnce = atOnce,
        };

    [Theory]
    [InlineData("update")]
    [InlineData("lean")]
    [InlineData("full")]
    public async Task An_update_a_lean_one_and_a_whole_library_give_exactly_the_new_version(string kind)
    {
        await LayOutAsync(Old, kind switch { "update" => UpdateRecipe, "lean" => UpdateArchive.BuildLean(Old, Next, "1.0.0", "1.1.0"), _ => Next });
        var ran = await Ran.ShelfAsync("update", Top, Zip, "--json");
        Assert.True(ran.ExitCode == 0, ran.Error);
        Assert.Equal("libraryshelf/update/1", ran.Json().GetProperty("schema").GetString());
        Assert.Equal(["Kick.wav", "gone/c.wav"], ran.Json().GetProperty("removed").EnumerateArray().Select(r => r.GetString()));
        await AssertWholeAsync(Next);
        AssertNothingBeside();
        Assert.Contains("it is this version already", (await Ran.ShelfAsync("update", folder.Path, Zip)).Out);
    }

    [Fact]
    public async Task Verifying_an_update_says_which_it_is_and_a_folder_it_was_unzipped_over_is_whole()
    {
        var old = Version("1.0.0", ("a.wav", "a"), ("b.wav", "b"));
        var next = Version("1.1.0", ("a.wav", "a"), ("b.wav", "B!"));
        await LayOutAsync(old, UpdateArchive.Build(old, next, "1.0.0", "1.1.0"));
        var ran = await Ran.ShelfAsync("verify", Zip);
        Assert.Equal(0, ran.ExitCode);
        Assert.Contains("this is the update from 1.0.0 to 1.1.0", ran.Out, StringComparison.Ordinal);
        var json = (await Ran.ShelfAsync("verify", Zip, "--json")).Json();
        Assert.Equal(("1.0.0", "1.1.0"), (json.GetProperty("update").GetProperty("from").GetString(), json.GetProperty("update").GetProperty("to").GetString()));
        OutsideTool.Run(folder.Path, "unzip", "-q", "-o", "update.zip");
        Assert.True(File.Exists(Path.Combine(Top, "REMOVED.txt")));
        var folderRan = await Ran.ShelfAsync("verify", Top);
        Assert.True(folderRan.ExitCode == 0, folderRan.Out);
    }

    [Fact]
    public async Task A_file_becomes_a_folder_and_the_other_way_round_by_a_whole_library()
    {
        var next = Version("2.0.0", ("a.wav/inner.wav", "a"), ("Samples", "s"));
        await LayOutAsync(Old, next);
        Assert.Equal(0, (await Ran.ShelfAsync("update", Top, Zip)).ExitCode);
        await AssertWholeAsync(next);
    }

    [Fact]
    public async Task A_persons_own_files_empty_folders_and_read_only_files_stay()
    {
        await LayOutAsync(Old, UpdateRecipe);
        File.WriteAllText(Path.Combine(Top, "my own.txt"), "mine");
        Directory.CreateDirectory(Path.Combine(Top, "gone/mine"));
        Directory.CreateDirectory(Path.Combine(Top, "my songs"));
        File.WriteAllText(Path.Combine(Top, "gone/mine/x"), "x");
        foreach (var file in Directory.EnumerateFiles(Top, "*", SearchOption.AllDirectories))
            File.SetAttributes(file, FileAttributes.ReadOnly);
        Assert.Equal(0, (await Ran.ShelfAsync("update", Top, Zip)).ExitCode);
        Assert.Equal(Next.Entries.Select(e => e.Path).Append("my own.txt").Append("gone/mine/x").Order(StringComparer.Ordinal), Files(Top));
        Assert.True(Directory.Exists(Path.Combine(Top, "my songs")));
        Assert.True(File.GetAttributes(Path.Combine(Top, "my own.txt")).HasFlag(FileAttributes.ReadOnly));
        AssertNothingBeside();
    }

    [Fact]
    public async Task An_altered_file_stops_it_and_is_named()
    {
        await LayOutAsync(Old, UpdateRecipe);
        File.WriteAllText(Path.Combine(Top, "a.wav"), "mine");
        var before = Files(Top);
        var ran = await Ran.ShelfAsync("update", Top, Zip);
        Assert.Equal(1, ran.ExitCode);
        Assert.Contains("altered: a.wav", ran.Out);
        Assert.Equal(before, Files(Top));
        AssertNothingBeside();
    }

    [Theory]
    [InlineData("d.wav")]
    [InlineData("D.wav")]
    [InlineData("d.wav/x")]
    public async Task A_file_of_ones_own_that_is_in_the_way_stops_it(string own)
    {
        await LayOutAsync(Old, UpdateRecipe);
        Directory.CreateDirectory(Path.GetDirectoryName(Path.Combine(Top, own))!);
        File.WriteAllText(Path.Combine(Top, own), "mine");
        var ran = await Ran.ShelfAsync("update", Top, Zip);
        Assert.Equal(2, ran.ExitCode);
        Assert.Contains("a file of your own", ran.Error);
        Assert.Equal("mine", File.ReadAllText(Path.Combine(Top, own)));
        AssertNothingBeside();
    }

    [Fact]
    public async Task Another_version_or_a_damaged_archive_changes_nothing()
    {
        var other = Version("0.9.0", ("x.wav", "x"));
        await LayOutAsync(other, UpdateRecipe);
        var ran = await Ran.ShelfAsync("update", Top, Zip);
        Assert.Equal(2, ran.ExitCode);
        Assert.Contains("from another version", ran.Error);
        var bytes = File.ReadAllBytes(Zip);
        bytes[bytes.AsSpan().IndexOf("B!"u8)] ^= 1;
        File.WriteAllBytes(Zip, bytes);
        Assert.Contains("not as it was packed", (await Ran.ShelfAsync("update", Top, Zip)).Error);
        await AssertWholeAsync(other);
        AssertNothingBeside();
    }

    [Theory]
    [MemberData(nameof(Cuts))]
    public async Task Cut_off_at_any_step_the_old_or_the_new_folder_is_there_and_the_next_run_ends_it(string step, bool link, bool atOnce)
    {
        var at = Enum.Parse<UpdateStep>(step);
        await LayOutAsync(Old, UpdateRecipe);
        var reached = false;
        void Cut(UpdateStep now)
        {
            if (now != at)
                return;
            reached = true;
            throw new KilledException();
        }
        await Assert.ThrowsAsync<KilledException>(() => Updater(Cut, link, atOnce).RunAsync(Top, Zip, CancellationToken.None));
        Assert.True(reached);
        if (at != UpdateStep.BetweenRenames)
            await AssertWholeAsync(at < UpdateStep.Exchanged ? Old : Next);
        var updated = await Updater(link: link, atOnce: atOnce).RunAsync(Top, Zip, CancellationToken.None);
        Assert.Empty(updated.KeptAside);
        await AssertWholeAsync(Next);
        AssertNothingBeside();
    }

    [Fact]
    public async Task Something_that_is_not_ours_at_our_names_is_left_alone()
    {
        await LayOutAsync(Old, UpdateRecipe);
        Directory.CreateDirectory(Top + ".updating-new");
        Assert.Contains("not ours", (await Ran.ShelfAsync("update", Top, Zip)).Error);
        Assert.True(Directory.Exists(Top + ".updating-new"));
        Assert.False(File.Exists(Top + ".updating-note"));
        await AssertWholeAsync(Old);
    }

    [Theory]
    [InlineData("song.txt", false, true)]
    [InlineData("song.txt", false, false)]
    [InlineData("a.wav", true, true)]
    [InlineData("own.txt", true, true)]
    [InlineData("own.txt", true, false)]
    public async Task Written_into_meanwhile_the_old_folder_stays(string path, bool isThere, bool link)
    {
        await LayOutAsync(Old, UpdateRecipe);
        var file = Path.Combine(Top, path);
        if (path == "own.txt")
            File.WriteAllText(file, "was");
        // The same size; saved within one step of the disk's clock also the same time.
        var at = isThere ? File.GetLastWriteTimeUtc(file) : default;
        var updater = Updater(step =>
        {
            if (step != UpdateStep.Built)
                return;
            File.WriteAllText(file, isThere ? new string('!', (int)new FileInfo(file).Length) : "just saved");
            if (path == "own.txt")
                File.SetLastWriteTimeUtc(file, at);
        }, link);
        var refused = await Assert.ThrowsAsync<CouldNotRunException>(() => updater.RunAsync(Top, Zip, CancellationToken.None));
        Assert.Contains(path, refused.Message, StringComparison.Ordinal);
        Assert.Contains(isThere ? "!" : "just saved", File.ReadAllText(file), StringComparison.Ordinal);
        AssertNothingBeside();
    }

    /// <summary>After the last look, before the names are exchanged: nothing can stop that, so the folder as it was is kept.</summary>
    [Theory]
    [InlineData("song.txt", true)]
    [InlineData("song.txt", false)]
    [InlineData("Samples/b.wav", true)]
    [InlineData("gone/c.wav", true)]
    public async Task Saved_at_the_very_last_moment_nothing_is_lost(string path, bool hasSameTime)
    {
        await LayOutAsync(Old, UpdateRecipe);
        var file = Path.Combine(Top, path);
        if (path == "song.txt")
        {
            File.WriteAllText(file, "x");
            File.SetLastWriteTimeUtc(file, new DateTime(2020, 1, 1, 0, 0, 0, DateTimeKind.Utc));
        }
        var at = File.GetLastWriteTimeUtc(file);
        var inside = Path.Combine(Top + ".updating-old", path);
        var updated = await Updater(step =>
        {
            if (step != UpdateStep.BetweenRenames)
                return;
            File.WriteAllText(inside, "!");
            if (hasSameTime)
                File.SetLastWriteTimeUtc(inside, at);
        }, link: false, atOnce: false).RunAsync(Top, Zip, CancellationToken.None);
        Assert.Equal([Top + " as it was"], updated.KeptAside);
        Assert.Equal("!", File.ReadAllText(Path.Combine(updated.KeptAside[0], path)));
        Assert.Equal(0, (await Ran.ShelfAsync("update", Top, Zip)).ExitCode);
        Assert.True(Directory.Exists(updated.KeptAside[0]));
        AssertNothingBeside();
    }

    [Theory]
    [InlineData(".updating-new-probe", false)]
    [InlineData(".updating-new", true)]
    [InlineData(".updating-old", true)]
    [InlineData(".updating-note", true)]
    public async Task A_file_of_ones_own_at_one_of_the_names_is_never_touched(string ending, bool stopsIt)
    {
        await LayOutAsync(Old, UpdateRecipe);
        File.WriteAllText(Top + ending, "mine");
        var ran = await Ran.ShelfAsync("update", Top, Zip);
        Assert.Equal(stopsIt ? 2 : 0, ran.ExitCode);
        Assert.Equal("mine", File.ReadAllText(Top + ending));
        await AssertWholeAsync(stopsIt ? Old : Next);
    }

    [Theory]
    [InlineData(11)]
    [InlineData(12)]
    public async Task All_pairs_of_a_random_series_become_exactly_the_new_version(int seed)
    {
        var series = VersionSeries.Make(seed, versions: 4, withFolders: true);
        for (var from = 0; from < 4; from++)
        {
            for (var to = from + 1; to < 4; to++)
            {
                var (old, next) = (series.Recipes[from], series.Recipes[to]);
                var (a, b) = (VersionSeries.Number(from), VersionSeries.Number(to));
                foreach (var archive in (Recipe[])[UpdateArchive.Obstacle(old, next, a, b) is null ? UpdateArchive.Build(old, next, a, b) : next, UpdateArchive.BuildLean(old, next, a, b)])
                {
                    using var place = new TemporaryFolder();
                    await File.WriteAllBytesAsync(place.File("old.zip"), await series.Sample.WriteAsync(old));
                    await File.WriteAllBytesAsync(place.File("u.zip"), await series.Sample.WriteAsync(archive));
                    OutsideTool.Run(place.Path, "unzip", "-q", "old.zip");
                    var ran = await Ran.ShelfAsync("update", place.File("Mended Kettle"), place.File("u.zip"));
                    Assert.True(ran.ExitCode == 0, ran.Error);
                    Assert.Equal(next.Entries.Select(e => e.Path).Order(StringComparer.Ordinal), Files(place.File("Mended Kettle")));
                    Assert.Equal(0, (await Ran.ShelfAsync("verify", place.File("Mended Kettle"))).ExitCode);
                }
            }
        }
    }
}
