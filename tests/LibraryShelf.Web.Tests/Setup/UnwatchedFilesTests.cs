using Microsoft.AspNetCore.Hosting;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Setup;

public sealed class UnwatchedFilesTests
{
    [Fact]
    public async Task Page_assets_are_served_with_a_version_and_without_a_watcher()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        var page = await host.Visitor().PageAsync("/");
        Assert.Contains("?v=", page.QuerySelector("link[rel=stylesheet]")!.GetAttribute("href"), StringComparison.Ordinal);
        var files = host.Services.GetRequiredService<IWebHostEnvironment>().WebRootFileProvider;
        Assert.True(files.GetFileInfo("css/shelf.css").Exists);
        Assert.False(files.Watch("css/shelf.css").ActiveChangeCallbacks);
    }
}
