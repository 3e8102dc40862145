using LibraryShelf.Web.Setup.Demo.Loading;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Tests.Setup.Demo.Loading;

public sealed class FolderMakerTests
{
    private static readonly LibraryRecipe Tins =
        SeedReader.Read(SeedReader.DefaultFolder).Libraries.Single(l => l.Slug == "biscuit-tin-kit");

    [Fact]
    public void The_same_recipe_gives_the_same_bytes_twice() =>
        Assert.Equal(Hashes(new FolderMaker().Make(Tins, Tins.Versions[0])), Hashes(new FolderMaker().Make(Tins, Tins.Versions[0])));

    [Fact]
    public void A_later_version_carries_only_what_is_new()
    {
        var maker = new FolderMaker();
        maker.Make(Tins, Tins.Versions[0]);
        var later = maker.Make(Tins, Tins.Versions[1]);
        // Four new pieces, three layers, three takes; the mapping and the page are always written anew.
        Assert.Equal((4 * 3 * 3) + 2, later.Files.Count(f => f.Bytes is not null));
    }

    private static List<string> Hashes(PreparedRelease release) => [.. release.Files.Select(f => $"{f.Path} {f.Sha256}")];
}
