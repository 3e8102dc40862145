using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Cli.Verify;

namespace LibraryShelf.Cli.Tests.Verify;

public sealed class VersionMatchTests
{
    private static readonly VersionsAnswer Table = new("libraryshelf/versions/1", "Kettle", [new("S/a.wav", 1, "a1")], [new("1.0.0", null, null, [0, 1])]);

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
}
