using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.Comparisons;

public sealed class FolderComparisonTests
{
    private static Comparison Compare(MadeLibrary old, MadeLibrary next, string number = "1.4.2") =>
        FolderComparison.Compare(old.ToFolder(), next.ToFolder(), number, CancellationToken.None);

    private static Comparison After(Action<MadeLibrary> edit, string number = "1.4.2")
    {
        var old = MadeLibrary.Create(1);
        var next = old.Copy();
        edit(next);
        return Compare(old, next, number);
    }

    [Fact]
    public void Nothing_differs_from_itself()
    {
        var comparison = After(_ => { });
        Assert.Empty(comparison.Changes);
        Assert.Equal((Bump.None, "1.4.2"), (comparison.Proposed.Bump, comparison.Proposed.Number));
        Assert.Empty(comparison.Proposed.Because);
        Assert.Equal("", DraftedChanges.Write(comparison, NoteNaming.C4));
    }

    [Fact]
    public void A_mapping_that_names_what_is_not_there_does_not_differ_from_itself()
    {
        var library = MadeLibrary.Create(1);
        library.Regions.Add(("Recordings/nowhere.wav", 66, 0, 1));
        Assert.Empty(Compare(library, library.Copy()).Changes);
    }

    [Fact]
    public void A_mapping_written_otherwise_is_a_patch_and_a_players_own_file_an_addition()
    {
        var few = After(l => l.Move("Recordings/Jar_60_0_1.wav", "Recordings/jar_60_0_1.wav"));
        Assert.Contains(few.Proposed.Because, b => b.EndsWith("written otherwise, and plays the same.", StringComparison.Ordinal));
        Assert.Equal((Bump.Patch, "1.4.3"), After(l => l.Comment = "// tidied") is { } tidied ? (tidied.Proposed.Bump, tidied.Proposed.Number) : default);
        Assert.Equal(Bump.Minor, After(l => l.Files["Jar.pond"] = [1, 2, 3]).Proposed.Bump);
    }

    [Fact]
    public void A_gain_is_told_with_its_key_and_its_decibels()
    {
        var comparison = After(l => l.Files["Recordings/Jar_61_0_1.wav"] = MadeLibrary.Wav([.. l.Samples("Recordings/Jar_61_0_1.wav").Select(x => x / 2)]));
        var change = Assert.Single(comparison.Changes);
        Assert.Equal((ChangeKind.Level, "Recordings/Jar_61_0_1.wav", 61), (change.Kind, change.Path, Assert.Single(change.Keys)));
        Assert.InRange(change.GainDb!.Value, -6.03, -6.01);
        Assert.Equal((Bump.Patch, "1.4.3"), (comparison.Proposed.Bump, comparison.Proposed.Number));
        Assert.Equal("### Changed\n\n- Softer by 6.0 dB: 1 take on C#4.", DraftedChanges.Write(comparison, NoteNaming.C4));
    }

    [Fact]
    public void Exchanged_names_with_a_gain_are_followed_by_their_sound()
    {
        const string a = "Recordings/Jar_60_0_1.wav", b = "Recordings/Jar_65_1_2.wav";
        var comparison = After(l =>
        {
            var (soundA, soundB) = (l.Samples(a), l.Samples(b));
            l.Files[a] = MadeLibrary.Wav([.. soundB.Select(x => x * 0.8)]);
            l.Files[b] = MadeLibrary.Wav([.. soundA.Select(x => x * 0.8)]);
        });
        Assert.Equal([(a, b), (b, a)], comparison.Changes.Where(c => c.Kind == ChangeKind.Level).Select(c => (c.Path!, c.From!)));
        // A song that plays C4 hears F4's recording now.
        Assert.Equal(Bump.Major, comparison.Proposed.Bump);
    }

    [Fact]
    public void All_renamed_is_major_although_the_mapping_follows_and_a_few_are_minor()
    {
        void Rename(MadeLibrary library, int few)
        {
            foreach (var path in library.Files.Keys.Where(p => p.EndsWith(".wav", StringComparison.Ordinal)).Order(StringComparer.Ordinal).Take(few).ToList())
                library.Move(path, path.Replace("Jar", "jar", StringComparison.Ordinal));
        }
        var all = After(l => Rename(l, 24));
        Assert.Equal((Bump.Major, "2.0.0"), (all.Proposed.Bump, all.Proposed.Number));
        Assert.Equal(24, all.Changes.Count(c => c.Kind == ChangeKind.Moved && c.From is not null));
        var few = After(l => Rename(l, 3));
        Assert.Equal((Bump.Minor, "1.5.0"), (few.Proposed.Bump, few.Proposed.Number));
        // The mapping names other files, and plays the same.
        Assert.Contains(few.Changes, c => c is { Kind: ChangeKind.Retagged, Path: "Jar.sfz" });
    }

    [Fact]
    public void A_rename_that_no_mapping_follows_is_major()
    {
        var comparison = After(l => { l.Files["Jars/lost.wav"] = l.Files["Recordings/Jar_60_0_1.wav"]; l.Remove("Recordings/Jar_60_0_1.wav"); });
        Assert.Equal(Bump.Major, comparison.Proposed.Bump);
        Assert.Contains(comparison.Proposed.Because, b => b.Contains("no mapping follows", StringComparison.Ordinal));
    }

    [Fact]
    public void A_key_that_falls_silent_is_major_and_said()
    {
        var comparison = After(l => l.Regions.RemoveAll(r => r.Key == 60));
        var change = Assert.Single(comparison.Changes);
        Assert.Equal((ChangeKind.Remapped, "Jar.sfz", "nothing sounds on C4 any more"), (change.Kind, change.Path, change.Words));
        Assert.Equal([60], change.Keys);
        Assert.Equal("2.0.0", comparison.Proposed.Number);
    }

    [Fact]
    public void Everything_an_octave_up_is_major()
    {
        var comparison = After(l =>
        {
            for (var i = 0; i < l.Regions.Count; i++)
                l.Regions[i] = l.Regions[i] with { Key = l.Regions[i].Key + 12 };
        });
        Assert.Equal(Bump.Major, comparison.Proposed.Bump);
        Assert.Contains("what sounded elsewhere sounds on C5–F5", Assert.Single(comparison.Changes).Words, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("ampeg_release=0.9", Bump.Patch)]
    [InlineData("ampeg_release=0.4 cutoff_cc74=1200", Bump.Minor)]
    public void Settings_are_a_patch_and_a_new_control_is_an_addition(string settings, Bump bump)
    {
        var comparison = After(l => l.Settings = settings);
        Assert.Equal(ChangeKind.Remapped, Assert.Single(comparison.Changes).Kind);
        Assert.Equal(bump, comparison.Proposed.Bump);
    }

    [Fact]
    public void A_control_that_is_gone_is_major()
    {
        var old = MadeLibrary.Create(1);
        old.Settings = "cutoff_cc74=1200";
        var next = old.Copy();
        next.Settings = "";
        var comparison = Compare(old, next);
        Assert.Equal(Bump.Major, comparison.Proposed.Bump);
        Assert.Contains("controller 74", Assert.Single(comparison.Proposed.Because), StringComparison.Ordinal);
    }

    [Fact]
    public void A_layer_less_is_major_and_a_take_more_minor()
    {
        Assert.Equal(Bump.Major, After(l => l.Regions.RemoveAll(r => r is { Key: 62, Layer: 1 })).Proposed.Bump);
        var more = After(l => l.Add("Recordings/Jar_62_0_3.wav", 62, 0, 3, 77));
        Assert.Equal(Bump.Minor, more.Proposed.Bump);
        Assert.Equal("### Added\n\n- 1 take on D4.\n\n### Changed\n\n- `Jar.sfz`: more takes on D4.", DraftedChanges.Write(more, NoteNaming.C4));
    }

    [Fact]
    public void Players_move_the_number()
    {
        Assert.Equal(Bump.Major, After(l => l.Players[0] = new("Pondskater", "2.3")).Proposed.Bump);
        Assert.Equal(Bump.Major, After(l => l.Players.RemoveAt(1)).Proposed.Bump);
        Assert.Equal(Bump.Minor, After(l => l.Players[0] = new("Pondskater", "1.7.9")).Proposed.Bump);
        Assert.Equal(Bump.Minor, After(l => l.Players.Add(new("Reedpipe", "1"))).Proposed.Bump);
        Assert.Equal(Bump.None, After(l => l.Players[0] = new("pondskater", "1.8.0")).Proposed.Bump);
        // Of a folder that says nothing of players nothing is said.
        Assert.Equal(Bump.None, After(l => l.Players.Clear()).Proposed.Bump);
    }

    [Fact]
    public void A_recording_that_cannot_be_read_is_said_as_the_disk_says_it()
    {
        var old = MadeLibrary.Create(1);
        var next = old.Copy();
        foreach (var path in old.Files.Keys.Where(p => p.EndsWith(".wav", StringComparison.Ordinal)).Take(3))
            next.Files[path] = MadeLibrary.Wav([.. next.Samples(path).Select(x => x / 2)]);
        var unreadable = next.ToFolder() with { Open = _ => throw new IOException("The disk is gone.") };
        var thrown = Assert.Throws<IOException>(() => FolderComparison.Compare(old.ToFolder(), unreadable, "1.0.0", CancellationToken.None));
        Assert.Equal("The disk is gone.", thrown.Message);
    }

    [Fact]
    public void Notes_in_names_and_in_sentences_follow_what_middle_C_is_called()
    {
        var old = MadeLibrary.Create(1);
        old.Files["Extra/Lid C3.wav"] = old.Files["Recordings/Jar_60_0_1.wav"];
        var next = old.Copy();
        next.Files.Remove("Extra/Lid C3.wav");
        next.Regions.RemoveAll(r => r.Key == 60);
        var c3 = new NoteNaming(3);
        var comparison = FolderComparison.Compare(old.ToFolder() with { Naming = c3 }, next.ToFolder() with { Naming = c3 }, "1.0.0", CancellationToken.None);
        Assert.Equal([60], comparison.Changes.Single(c => c.Path == "Extra/Lid C3.wav").Keys);
        Assert.Contains(comparison.Changes, c => c.Words == "nothing sounds on C3 any more");
    }

    [Theory]
    [InlineData("1.4.2", Bump.Patch, "1.4.3")]
    [InlineData("1.4.2", Bump.Minor, "1.5.0")]
    [InlineData("1.4.2", Bump.Major, "2.0.0")]
    [InlineData("0.3.1", Bump.Major, "0.4.0")]
    [InlineData("0.3.1", Bump.Minor, "0.4.0")]
    [InlineData("0.3.1", Bump.Patch, "0.3.2")]
    [InlineData("2.0.0-rc.1", Bump.Major, "2.0.0")]
    [InlineData("1.0.0+autumn", Bump.Patch, "1.0.1")]
    [InlineData("99999999999999999999.0.0", Bump.Major, "100000000000000000000.0.0")]
    public void The_next_number_is_higher_by_the_precedence_of_SemVer(string old, Bump bump, string next)
    {
        Assert.Equal(next, NumberRule.Next(old, bump));
        Assert.True(ReleaseNumber.Compare(ReleaseNumber.TryParse(next)!, ReleaseNumber.TryParse(old)!) > 0);
    }

    [Fact]
    public void A_comparison_is_the_same_after_it_was_written_and_read()
    {
        var comparison = After(l =>
        {
            l.Move("Recordings/Jar_60_0_1.wav", "Recordings/first.wav");
            l.Files["Recordings/Jar_61_0_1.wav"] = MadeLibrary.Wav([.. l.Samples("Recordings/Jar_61_0_1.wav").Select(x => x / 3)]);
            l.Players[0] = new("Pondskater", "2.3");
        });
        var written = System.Text.Json.JsonSerializer.Serialize(CompareJson.Of(comparison, new CompareJson.UpdatePart(12, 34)), System.Text.Json.JsonSerializerOptions.Web);
        Assert.Contains("\"kind\":\"moved\",\"path\":\"Recordings/first.wav\",\"from\":\"Recordings/Jar_60_0_1.wav\"", written, StringComparison.Ordinal);
        Assert.Contains("\"proposed\":{\"bump\":\"major\",\"number\":\"2.0.0\",\"because\":[", written, StringComparison.Ordinal);
        var read = System.Text.Json.JsonSerializer.Deserialize<CompareJson>(written, System.Text.Json.JsonSerializerOptions.Web)!.ToComparison();
        Assert.Equal(comparison.Changes.Select(c => c with { Keys = [] }), read.Changes.Select(c => c with { Keys = [] }));
        Assert.Equal(comparison.Changes.Select(c => string.Join(' ', c.Keys)), read.Changes.Select(c => string.Join(' ', c.Keys)));
    }
}
