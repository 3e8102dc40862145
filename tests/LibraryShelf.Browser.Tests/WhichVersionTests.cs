using System.IO.Compression;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>"Which version do I have?" in Chromium: nothing leaves the machine, and it works with the net cut after the page has loaded.</summary>
[Collection(OneShelf.Name)]
public sealed class WhichVersionTests(ClaimedShelf claimed)
{
    [Fact]
    public async Task A_folder_is_known_altered_files_are_named_and_nothing_is_sent()
    {
        var box = await claimed.ToldKettlesAsync();
        await using var context = await claimed.Shelf.NewContextAsync();
        var page = await context.NewPageAsync();
        var sent = new List<string>();
        page.Request += (_, request) => { if (request.Method != "GET" || request.PostDataBuffer is not null) sent.Add(request.Url); };
        await page.GotoAsync(box + "/which-version", new() { WaitUntil = WaitUntilState.NetworkIdle });
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
        var box = await claimed.ToldKettlesAsync();
        await using var context = await claimed.Shelf.NewContextAsync();
        var page = await context.NewPageAsync();
        await page.GotoAsync(box);
        var download = await page.RunAndWaitForDownloadAsync(() => page.GetByRole(AriaRole.Button, new() { Name = "Whole library" }).First.ClickAsync());
        var zip = Path.Combine(Directory.CreateTempSubdirectory("zipped-").FullName, download.SuggestedFilename);
        await download.SaveAsAsync(zip);
        await page.GotoAsync(box + "/which-version");
        await page.Locator("[data-part=files]").SetInputFilesAsync(zip);
        var heading = page.Locator("[data-part=answer] h2");
        await Assertions.Expect(heading).ToHaveTextAsync("This is Told Kettles 1.0.0");

        // An update says so in its REMOVED.txt, and is not taken for a library with files missing.
        var update = Path.Combine(Path.GetDirectoryName(zip)!, "update.zip");
        await using (var made = await ZipFile.OpenAsync(update, ZipArchiveMode.Create))
        {
            await using var note = await made.CreateEntry("Told Kettles/REMOVED.txt", CompressionLevel.NoCompression).OpenAsync();
            await note.WriteAsync("Left over from earlier versions: nothing that 1.0.0 knows of. This is the update from 0.9.0 to 1.0.0.\n"u8.ToArray());
        }
        await page.Locator("[data-part=files]").SetInputFilesAsync(update);
        await Assertions.Expect(heading).ToHaveTextAsync("This is the update of Told Kettles from 0.9.0 to 1.0.0");
        Directory.Delete(Path.GetDirectoryName(zip)!, recursive: true);
    }
}
