using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Cli.Verify;

namespace LibraryShelf.Cli.Tests.Verify;

public sealed class VersionMatchTests
{
    // 1.0.0: a, b, old; 1.1.0: a, b better, new.
    private static readonly VersionsAnswer Table = new("libraryshelf/versions/1", "Kettle",
        [new("S/a.wav", 1, "a1"), new("S/b.wav", 2, "b1"), new("old.txt", 3, "o1"), new("S/b.wav", 20, "b2"), new("new.txt", 30, "n1")],
        [new("1.1.0", null, null, [0, 1, 3, 2]), new("1.0.0", null, null, [0, 3])]);

    [Theory]
    [InlineData("")]
    [InlineData("Downloads/My kettle/")]
    public void Leftovers_and_own_files_are_no_fault_and_the_folder_may_lie_in_another(string above)
    {
        var found = VersionMatch.Find(Table, Files((above + "S/a.wav", "a1"), (above + "S/b.wav", "b2"), (above + "new.txt", "n1"), (above + "old.txt", "o1"), (above + "mine.txt", "m")));
        Assert.True(found!.IsExact);
        Assert.Equal(("1.1.0", 2), (found.Version.Number, found.Extra.Count));
        Assert.Equal(50, VersionMatch.Cost(Table, Table.Versions[1], Table.Versions[0]));
    }

    [Fact]
    public void The_nearest_is_told_with_what_is_altered_and_missing()
    {
        var found = VersionMatch.Find(Table, Files(("S/a.wav", "x"), ("S/b.wav", "b1")));
        Assert.Equal("1.0.0", found!.Version.Number);
        Assert.Equal(["Altered S/a.wav", "Missing old.txt"], found.Discrepancies.Select(d => $"{d.Kind} {d.Path}"));
    }

    [Fact]
    public void Strangers_are_not_matched() => Assert.Null(VersionMatch.Find(Table, Files(("x.txt", "zz"))));

    [Fact]
    public void A_list_with_runs_outside_it_is_not_believed() =>
        Assert.False((Table with { Versions = [new("1.0.0", null, null, [3, 9])] }).IsSound);

    [Theory]
    [InlineData("https://s.example/boxes/kettle", "https://s.example/boxes/kettle/versions.json")]
    [InlineData("https://s.example/boxes/kettle/which-version?x#y", "https://s.example/boxes/kettle/versions.json")]
    [InlineData("https://s.example/boxes/kettle/versions.json", "https://s.example/boxes/kettle/versions.json")]
    public void The_address_of_a_page_leads_to_its_list(string given, string list) => Assert.Equal(list, VersionsClient.AddressOf(given).ToString());

    [Fact]
    public async Task What_is_no_address_or_cannot_be_reached_is_said()
    {
        var folder = Directory.CreateTempSubdirectory("against-").FullName;
        var wrong = await Ran.ShelfAsync("verify", folder, "--against", "file:///etc/passwd");
        Assert.Equal(2, wrong.ExitCode);
        Assert.Contains("not an address of a box", wrong.Error, StringComparison.Ordinal);
        // Port 1 (tcpmux) is not listened on.
        var away = await Ran.ShelfAsync("verify", folder, "--against", "http://127.0.0.1:1/boxes/kettle");
        Assert.Equal(2, away.ExitCode);
        Assert.Contains("can't be reached", away.Error, StringComparison.Ordinal);
        Directory.Delete(folder);
    }

    private static Dictionary<string, string> Files(params (string Path, string Sha256)[] files) => files.ToDictionary(f => f.Path, f => f.Sha256);
}
