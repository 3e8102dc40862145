using LibraryShelf.Campaigns.Tests.Holding;
using LibraryShelf.Campaigns.Tests.Making;
using LibraryShelf.Campaigns.Tests.Running;

namespace LibraryShelf.Campaigns.Tests.FullDisk;

/// <summary>A running shelf whose data directory lies on a small disk.</summary>
public sealed class ShelfOnSmallDisk : IAsyncLifetime
{
    private int made;

    internal SmallDisk Disk { get; private set; } = null!;

    internal TrialShelf Shelf { get; private set; } = null!;

    internal Maker Maker { get; private set; } = null!;

    public async Task InitializeAsync()
    {
        Disk = new SmallDisk();
        Shelf = await TrialShelf.ClaimedAsync(Disk.Data);
        await Shelf.StartAsync();
        Maker = new Maker(Shelf);
        await Maker.SignInAsync();
    }

    public Task DisposeAsync()
    {
        Shelf?.Dispose();
        Disk?.Dispose();
        return Task.CompletedTask;
    }

    /// <summary>A folder beside the small disk whose bytes no other has.</summary>
    internal MadeFolder MakeFolder(params int[] sizes) => MadeFolder.Make(Path.Combine(Shelf.Scratch, $"full-{++made}"), (ulong)made + 50_000, sizes);

    /// <summary>The program is up, its pages are shown, and the data directory keeps every promise.</summary>
    internal async Task HoldAsync()
    {
        Assert.True(Shelf.IsUp, "the program is gone:\n" + Shelf.LastWords);
        Assert.True(await Shelf.IsReadyAsync());
        Assert.Contains("<h1", await new Forms(Shelf.Visitor).PageAsync("/"), StringComparison.Ordinal);
        Assert.Contains("<h1", await Maker.Forms.PageAsync("/workbench"), StringComparison.Ordinal);
        // Read where it lies: the program runs, and a copy of a file it may be writing would be torn.
        await using var db = Shelf.Open();
        Assert.Empty(await new Promises(Shelf.Paths).BrokenAsync(db));
    }
}
