using System.IO.Compression;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// The three stories that must always work, each in Chromium against the running program: publish a version, a member downloads,
/// the maker sees it counted.
/// </summary>
[Collection(OneShelf.Name)]
public sealed class StoryTests(ClaimedShelf claimed)
{
    private readonly RunningShelf shelf = claimed.Shelf;

    [Fact]
    public async Task The_maker_publishes_a_version_and_sees_a_download_counted()
    {
        var maker = await claimed.MakerPageAsync();
        await Walk.PublishAsync(maker, shelf, "Kettle Choir", claimed.Folder, "Free: everyone");

        var visitor = await NewPageAsync();
        await visitor.GotoAsync(shelf.Address.ToString());
        await visitor.GetByRole(AriaRole.Link, new() { Name = "Kettle Choir" }).First.ClickAsync();
        await Assertions.Expect(visitor.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Kettle Choir");
        var main = visitor.GetByRole(AriaRole.Main);
        await Assertions.Expect(main).ToContainTextAsync("Pondskater 2.3");
        await Assertions.Expect(main).ToContainTextAsync("5, C4 to G4");
        await Assertions.Expect(main.GetByText("five", new() { Exact = true })).ToBeVisibleAsync();
        await DownloadAsync(visitor, "Whole library");

        var numbers = new Uri(shelf.Address, "/workbench/numbers/downloads?library=kettle-choir").ToString();
        var row = maker.GetByRole(AriaRole.Row, new() { Name = "1.0.0" }).First;
        await Waiting.UntilAsync(async () =>
        {
            await maker.GotoAsync(numbers);
            return await row.CountAsync() == 1 && await row.UnderAsync("Finished") == "1";
        });
        Assert.Equal(("1.0.0", "1"), (await row.UnderAsync("Version"), await row.UnderAsync("Started")));
        await LineIsDrawnAsync(maker, numbers);
    }

    [Fact]
    public async Task A_member_downloads_the_monthly_release_that_was_dragged_onto_the_page()
    {
        const string email = "dunlin@post.example";
        var maker = await claimed.MakerPageAsync();
        await Walk.PublishAsync(maker, shelf, "Tied Kettles", claimed.Folder, "Members only", Walk.DropAsync);
        await GrantAsync(maker, email);

        var member = await NewPageAsync();
        await member.GotoAsync(new Uri(shelf.Address, "/boxes/tied-kettles").ToString());
        await Assertions.Expect(member.GetByRole(AriaRole.Button, new() { Name = "Whole library" })).ToHaveCountAsync(0);
        await Walk.SignInByMailAsync(member, shelf, email);
        await AssertIsFolderAsync(await DownloadAsync(member, "Download Tied Kettles 1.0.0"), "Tied Kettles");
    }

    /// <summary>With script uPlot paints the line in the place of the picture that stands there without, and the content policy blocks nothing of it; the words beside it stay.</summary>
    private async Task LineIsDrawnAsync(IPage maker, string address)
    {
        var blocked = new List<string>();
        maker.Console += (_, message) => { if (message.Type == "error") blocked.Add(message.Text); };
        await maker.GotoAsync(address);
        var figure = maker.Locator("[data-line]");
        await Assertions.Expect(figure.Locator("canvas")).ToBeVisibleAsync();
        await Assertions.Expect(figure.Locator("[data-part=drawn]")).ToHaveCountAsync(0);
        Assert.True(await figure.Locator("canvas").EvaluateAsync<bool>("c => c.getContext('2d').getImageData(0, 0, c.width, c.height).data.some(v => v > 0)"), "The canvas is empty.");
        Assert.Equal(["people: 1", "signed in: 0"], await figure.Locator(".ends text").AllTextContentsAsync());
        await figure.Locator("canvas").HoverAsync(new() { Position = new() { X = 2, Y = 50 }, Force = true });
        await Assertions.Expect(figure.Locator("[data-part=read]")).ToContainTextAsync("people 0, signed in 0");
        Assert.Empty(blocked);

        await using var still = await shelf.NewContextAsync(new() { JavaScriptEnabled = false, StorageState = await maker.Context.StorageStateAsync() });
        var page = await still.NewPageAsync();
        await page.GotoAsync(address);
        await Assertions.Expect(page.Locator("[data-line] path.line-0")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator("[data-line] canvas")).ToHaveCountAsync(0);
    }

    /// <summary>The shelf's door for uploads lets so many through and holds up the rest, so that what the page shows in between can be seen.</summary>
    [Fact]
    public async Task A_folder_is_stopped_gone_on_with_and_after_the_page_was_loaded_anew_nothing_is_sent_twice()
    {
        var page = await claimed.MakerPageAsync();
        await page.GotoAsync(new Uri(shelf.Address, "/workbench/libraries/new").ToString());
        await page.GetByLabel("Title").FillAsync("Kettles in Parts");
        await page.GetByLabel("How it sounds").FillAsync("struck");
        await page.GetByRole(AriaRole.Button, new() { Name = "Add the library" }).ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "Start the version" }).ClickAsync();

        // None of its files is on the shelf yet, whichever test came before.
        var parts = Directory.CreateTempSubdirectory("kettle-parts-").FullName;
        KettleFolder.Write(parts, level: 0.37);
        var (open, sent) = (2, 0);
        await page.RouteAsync("**/uploads", async route =>
        {
            if (open == 0)
                return; // held up for good: whoever asked gives up or goes away
            open--;
            sent++;
            await route.ContinueAsync();
        });
        page.Dialog += (_, dialog) => _ = dialog.AcceptAsync();
        var words = page.Locator("#send-folder [data-part=words]");
        var folder = new PointerHands(page);
        await Walk.ChooseAsync(folder, parts);
        await Assertions.Expect(words).ToContainTextAsync("2 of 6 files");
        await page.GetByRole(AriaRole.Button, new() { Name = "Stop", Exact = true }).ClickAsync();
        await Assertions.Expect(page.Locator("#send-folder .stopped[role=alert]")).ToContainTextAsync("Stopped when you asked. What was sent is kept.");

        open = 1;
        await page.GetByRole(AriaRole.Button, new() { Name = "Go on from there" }).ClickAsync();
        await Assertions.Expect(words).ToContainTextAsync("3 of 6 files");

        await page.ReloadAsync();
        open = int.MaxValue;
        await Walk.ChooseAsync(folder, parts);
        await Assertions.Expect(page).ToHaveURLAsync(new System.Text.RegularExpressions.Regex("/sheet$"), new() { Timeout = 20_000 });
        Assert.Equal(6, sent);
        await Assertions.Expect(page.Locator(".tally")).ToContainTextAsync("0 must fix");
        Directory.Delete(parts, recursive: true);
    }

    private async Task<IPage> NewPageAsync() => await (await shelf.NewContextAsync(new() { UserAgent = Walk.PersonsBrowser })).NewPageAsync();

    private static async Task GrantAsync(IPage maker, string email)
    {
        await maker.GetByRole(AriaRole.Link, new() { Name = "Members", Exact = true }).ClickAsync();
        await maker.GetByLabel("Their e-mail address").FillAsync(email);
        await maker.GetByRole(AriaRole.Button, new() { Name = "Give it" }).ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Main)).ToContainTextAsync(email);
    }

    private static async Task<string> DownloadAsync(IPage page, string button)
    {
        var download = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Button, new() { Name = button }).First.ClickAsync());
        Assert.Null(await download.FailureAsync());
        return await download.PathAsync();
    }

    /// <summary>The maker's files, byte for byte, under one top folder.</summary>
    private async Task AssertIsFolderAsync(string archive, string topFolder)
    {
        await using var zip = await ZipFile.OpenReadAsync(archive);
        foreach (var file in Directory.EnumerateFiles(claimed.Folder, "*", SearchOption.AllDirectories))
        {
            var entry = zip.GetEntry($"{topFolder}/{Path.GetRelativePath(claimed.Folder, file)}");
            Assert.NotNull(entry);
            using var content = new MemoryStream();
            await using (var stream = await entry.OpenAsync()) await stream.CopyToAsync(content);
            Assert.Equal(await File.ReadAllBytesAsync(file), content.ToArray());
        }
    }
}
