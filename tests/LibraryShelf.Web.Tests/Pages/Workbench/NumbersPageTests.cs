namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class NumbersPageTests
{
    [Fact]
    public async Task A_shelf_without_downloads_has_numbers_too()
    {
        await using var host = new ShelfHost();
        var page = await (await host.MakerAsync()).PageAsync("/workbench/numbers");
        Assert.StartsWith("No downloads finished", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
    }
}
