using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>A claimed shelf with libraries that can be heard, each published when it is first asked for.</summary>
public sealed class ListenedShelf : ClaimedShelf
{
    private readonly Lazy<Task<string>> kettles, oneOfEach;

    public ListenedShelf()
    {
        kettles = new(() => PublishedAsync("Kettles", Folder));
        oneOfEach = new(async () =>
        {
            var folder = Directory.CreateTempSubdirectory("kettle-").FullName;
            KettleFolder.WriteOneOfEach(folder);
            try
            {
                return await PublishedAsync("One of Each", folder);
            }
            finally
            {
                Directory.Delete(folder, recursive: true);
            }
        });
    }

    /// <returns>The address of a box with five keys, struck once each.</returns>
    public Task<string> KettlesAsync() => kettles.Value;

    /// <returns>The address of a box with all that a mapping may say of playing (<see cref="KettleFolder.WriteOneOfEach"/>).</returns>
    public Task<string> OneOfEachAsync() => oneOfEach.Value;

    /// <summary>Its excerpts come by themselves, soon after it was published.</summary>
    private async Task<string> PublishedAsync(string title, string folder)
    {
        var maker = await MakerPageAsync();
        await Walk.PublishAsync(maker, Shelf, title, folder, "Free: everyone");
        var address = new Uri(Shelf.Address, "/boxes/" + title.ToLowerInvariant().Replace(' ', '-')).ToString();
        await CanBeHeardAsync(maker, address);
        return address;
    }

    /// <summary>Waits until the page of a box has its excerpts.</summary>
    public static async Task CanBeHeardAsync(IPage maker, string address)
    {
        // On a page of its own: the maker's opens itself anew when something of the release is done.
        var visited = await maker.Context.NewPageAsync();
        await Waiting.UntilAsync(async () =>
        {
            await visited.GotoAsync(address);
            return await visited.Locator("#listening audio").CountAsync() > 0;
        });
        await visited.CloseAsync();
    }
}
