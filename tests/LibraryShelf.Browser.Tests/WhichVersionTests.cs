using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>"Which version do I have?" in Chromium: nothing leaves the machine, and it works with the net cut after the page has loaded.</summary>
public sealed class WhichVersionTests(ClaimedShelf claimed) : IClassFixture<ClaimedShelf>
{
    [Fact]
    public async Task A_folder_is_known_altered_files_are_named_and_nothing_is_sent()
    {
        var maker = await claimed.MakerPageAsync();
        await Walk.PublishAsync(maker, claimed.Shelf, "Told Kettles", claimed.Folder, "Free: everyone");
        await using var context = await claimed.Shelf.Browser.NewContextAsync();
        var page = await context.NewPageAsync();
        var sent = new List<string>();
        page.Request += (_, request) => { if (request.Method != "GET" || request.PostDataBuffer is not null) sent.Add(request.Url); };
        await page.GotoAsync(new Uri(claimed.Shelf.Address, "/boxes/told-kettles/which-version").ToString(), new() { WaitUntil = WaitUntilState.NetworkIdle });
        await context.SetOfflineAsync(true);

        var folder = Directory.CreateTempSubdirectory("told-").FullName;
        KettleFolder.Write(Path.Combine(folder, "My songs", "kettles"));
        await page.Locator("[data-part=folder]").SetInputFilesAsync(folder);
        var answer = page.Locator("[data-part=answer]");
        // The shelf's own texts (CHANGES, LICENCE, INSTALL, CHECKSUMS) are not in the maker's folder.
        await Assertions.Expect(answer).ToContainTextAsync("This is nearest to Told Kettles 1.0.0");
        await Assertions.Expect(answer).ToContainTextAsync("missing");
        await Assertions.Expect(answer).Not.ToContainTextAsync("not as packed");

        await File.AppendAllTextAsync(Path.Combine(folder, "My songs", "kettles", "kettle.sfz"), " ");
        await page.Locator("[data-part=folder]").SetInputFilesAsync(folder);
        await Assertions.Expect(answer).ToContainTextAsync("1 file not as packed");
        Assert.True(await answer.EvaluateAsync<bool>("it => document.activeElement === it"));
        Assert.Empty(sent);
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task A_zip_of_ours_is_known_whole()
    {
        var maker = await claimed.MakerPageAsync();
        await Walk.PublishAsync(maker, claimed.Shelf, "Zipped Kettles", claimed.Folder, "Free: everyone");
        await maker.GotoAsync(new Uri(claimed.Shelf.Address, "/boxes/zipped-kettles").ToString());
        var download = await maker.RunAndWaitForDownloadAsync(() => maker.GetByRole(AriaRole.Button, new() { Name = "Whole library" }).First.ClickAsync());
        var zip = Path.Combine(Directory.CreateTempSubdirectory("zipped-").FullName, download.SuggestedFilename);
        await download.SaveAsAsync(zip);
        await maker.GotoAsync(new Uri(claimed.Shelf.Address, "/boxes/zipped-kettles/which-version").ToString());
        await maker.Locator("[data-part=files]").SetInputFilesAsync(zip);
        await Assertions.Expect(maker.Locator("[data-part=answer] h2")).ToHaveTextAsync("This is Zipped Kettles 1.0.0");
        Directory.Delete(Path.GetDirectoryName(zip)!, recursive: true);
    }
}
