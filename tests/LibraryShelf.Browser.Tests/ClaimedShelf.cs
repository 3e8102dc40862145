using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>One shelf for the tests that leave alone what the others do on it: starting one takes longer than most of them.</summary>
[CollectionDefinition(Name)]
public sealed class OneShelf : ICollectionFixture<ClaimedShelf>
{
    public const string Name = "One shelf";
}

/// <summary>A running shelf that its maker has claimed, and a folder of hers to publish.</summary>
public class ClaimedShelf : IAsyncLifetime
{
    public ClaimedShelf()
        : this([])
    {
    }

    protected ClaimedShelf(string[] settings)
    {
        Shelf = new() { Settings = settings };
        toldKettles = new(async () =>
        {
            await Walk.PublishAsync(await MakerPageAsync(), Shelf, "Told Kettles", Folder, "Free: everyone");
            return new Uri(Shelf.Address, "/boxes/told-kettles").ToString();
        });
    }

    private readonly Lazy<Task<string>> toldKettles;
    private string? _signedIn;

    public RunningShelf Shelf { get; }
    /// <summary>The same with one recording mended, for a second version.</summary>
    public string Mended { get; } = Directory.CreateTempSubdirectory("kettle-").FullName;

    public string Folder { get; } = Directory.CreateTempSubdirectory("kettle-").FullName;

    public async Task InitializeAsync()
    {
        KettleFolder.Write(Folder);
        KettleFolder.WriteMended(Mended);
        await Shelf.InitializeAsync();
        await ClaimAsync();
    }

    protected virtual async Task ClaimAsync()
    {
        await using var context = await Shelf.NewContextAsync();
        await Walk.ClaimAsync(await context.NewPageAsync(), Shelf);
        _signedIn = await context.StorageStateAsync();
    }

    /// <summary>For who changed her keys to the shelf, which ends her other sign-ins within a minute.</summary>
    public async Task SignInAnewAsync()
    {
        await using var context = await Shelf.NewContextAsync();
        await Walk.SignInAsMakerAsync(await context.NewPageAsync(), Shelf);
        _signedIn = await context.StorageStateAsync();
    }

    /// <summary>A page on which the maker is signed in, by the same sign-in each time: who signs out uses another one.</summary>
    public async Task<IPage> MakerPageAsync()
    {
        var context = await Shelf.NewContextAsync(new() { StorageState = _signedIn });
        var page = await context.NewPageAsync();
        await page.GotoAsync(new Uri(Shelf.Address, "/workbench").ToString());
        return page;
    }

    /// <returns>The address of a free box whose downloads nobody counts, published when it is first asked for.</returns>
    public Task<string> ToldKettlesAsync() => toldKettles.Value;

    public async Task DisposeAsync()
    {
        await Shelf.DisposeAsync();
        Directory.Delete(Folder, recursive: true);
        Directory.Delete(Mended, recursive: true);
    }
}
