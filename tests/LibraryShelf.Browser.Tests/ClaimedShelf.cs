using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>A running shelf that its maker has claimed, and a folder of hers to publish.</summary>
public class ClaimedShelf : IAsyncLifetime
{
    public ClaimedShelf()
        : this([])
    {
    }

    protected ClaimedShelf(string[] settings) => Shelf = new() { Settings = settings };

    public RunningShelf Shelf { get; }
    /// <summary>The same with one recording mended, for a second version.</summary>
    public string Mended { get; } = Directory.CreateTempSubdirectory("kettle-").FullName;

    public string Folder { get; } = Directory.CreateTempSubdirectory("kettle-").FullName;

    public async Task InitializeAsync()
    {
        KettleFolder.Write(Folder);
        KettleFolder.WriteMended(Mended);
        await Shelf.InitializeAsync();
        await using var context = await Shelf.Browser.NewContextAsync();
        await Walk.ClaimAsync(await context.NewPageAsync(), Shelf);
    }

    /// <summary>A page on which the maker is signed in.</summary>
    public async Task<IPage> MakerPageAsync()
    {
        var context = await Shelf.Browser.NewContextAsync();
        var page = await context.NewPageAsync();
        await Walk.SignInAsMakerAsync(page, Shelf);
        return page;
    }

    public async Task DisposeAsync()
    {
        await Shelf.DisposeAsync();
        Directory.Delete(Folder, recursive: true);
        Directory.Delete(Mended, recursive: true);
    }
}
