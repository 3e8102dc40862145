namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class MemberNumbersPageTests
{
    [Fact]
    public async Task A_shelf_without_members_and_drops_has_numbers_of_them_too()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        Assert.Equal("No members, as many as at the start of November.", (await maker.PageAsync("/workbench/numbers/members")).QuerySelector("p.said")!.Words());
        Assert.StartsWith("No drop went out", (await maker.PageAsync("/workbench/numbers/drops")).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
    }
}
