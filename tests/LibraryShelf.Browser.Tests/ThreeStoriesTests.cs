using System.IO.Compression;
using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// The three stories that must always work, one after the other: the maker publishes a version for members, a member downloads it, the maker sees that
/// counted, mends it and publishes that as the next version, the member takes the update, and the maker sees who is on which version. On a desk's width and a phone's, with and without script, by the
/// keyboard alone and with a pointer: in most of them the first three are walked with the one and the rest with the other. A desk with script and a pointer is in
/// <see cref="StoryTests"/>.
/// </summary>
public sealed class ThreeStoriesTests(ClaimedShelf claimed) : IClassFixture<ClaimedShelf>
{
    private readonly RunningShelf shelf = claimed.Shelf;

    [Theory]
    [InlineData(1280, true, true, true)]
    [InlineData(390, true, true, false)]
    [InlineData(1280, false, true, false)]
    [InlineData(390, false, true, false)]
    [InlineData(390, true, false, true)]
    [InlineData(390, false, false, true)]
    public async Task Published_downloaded_counted_mended_updated(int width, bool withScript, bool byKeys, bool thenByKeys)
    {
        var title = $"Kettles {width} {(withScript ? "with" : "without")} script{(byKeys ? " by keys" : "")}";
        var slug = title.ToLowerInvariant().Replace(' ', '-');
        var email = $"{slug}@post.example";
        // Pages that load themselves anew are waited for once, which takes long.
        var maker = await Hands.OpenAsync(shelf, width, withScript, byKeys, isInHaste: !withScript && width == Sight.Phone);
        await Walk.SignInAsMakerAsync(maker, shelf);
        await GivenAsync(claimed.Folder, withScript, (folder, give) => Walk.PublishAsync(maker, shelf, title, folder, "Members only", give));
        await GrantAsync(maker, email);

        var member = await Hands.OpenAsync(shelf, width, withScript, byKeys);
        await Walk.SignInByMailAsync(member, shelf, email);
        await DownloadAsync(member, title);

        await SeesItCountedAsync(maker, slug);

        (maker, member) = (maker.GoingOn(thenByKeys, isInHaste: !withScript), member.GoingOn(thenByKeys, isInHaste: false));
        await GivenAsync(claimed.Mended, withScript, (folder, give) => Walk.PublishMendAsync(maker, shelf, slug, folder, give));
        await UpdateAsync(member, title);
        await SeesWhoIsOnItAsync(maker, slug);
        await maker.Page.Context.CloseAsync();
        await member.Page.Context.CloseAsync();
    }

    /// <summary>With script the folder itself is sent, without it a zip of it.</summary>
    private static async Task GivenAsync(string folder, bool withScript, Func<string, Func<Hands, string, Task>, Task> publish)
    {
        if (withScript)
        {
            await publish(folder, Walk.ChooseAsync);
            return;
        }

        var zip = Path.Combine(Directory.CreateTempSubdirectory("kettle-zip-").FullName, "kettles.zip");
        try
        {
            await ZipFile.CreateFromDirectoryAsync(folder, zip, CompressionLevel.Fastest, includeBaseDirectory: true);
            await publish(zip, Walk.SendZipAsync);
        }
        finally
        {
            Directory.Delete(Path.GetDirectoryName(zip)!, recursive: true);
        }
    }

    private static async Task GrantAsync(Hands maker, string email)
    {
        await maker.PressAsync(AriaRole.Link, "Members", exact: true);
        await maker.FillAsync("Their e-mail address", email);
        await maker.PressAsync(AriaRole.Button, "Give it");
        await Assertions.Expect(maker.Page.GetByRole(AriaRole.Main)).ToContainTextAsync(email);
    }

    private async Task DownloadAsync(Hands member, string title)
    {
        var download = await member.Page.RunAndWaitForDownloadAsync(() => member.PressAsync(AriaRole.Button, $"Download {title} 1.0.0"));
        Assert.Null(await download.FailureAsync());
        await using var zip = await ZipFile.OpenReadAsync(await download.PathAsync());
        foreach (var file in Directory.EnumerateFiles(claimed.Folder, "*", SearchOption.AllDirectories))
            Assert.Equal(await File.ReadAllBytesAsync(file), await ReadAsync(zip, $"{title}/{Path.GetRelativePath(claimed.Folder, file)}"));
    }

    /// <summary>What was mended comes along, and no recording that stayed as it was.</summary>
    private async Task UpdateAsync(Hands member, string title)
    {
        await Waiting.UntilAsync(async () =>
        {
            await member.Page.GotoAsync(new Uri(shelf.Address, "/mine").ToString());
            return await member.Page.GetByRole(AriaRole.Button, new() { Name = "Update from your 1.0.0" }).CountAsync() == 1;
        });
        var download = await member.Page.RunAndWaitForDownloadAsync(() => member.PressAsync(AriaRole.Button, "Update from your 1.0.0"));
        Assert.Null(await download.FailureAsync());
        await using var zip = await ZipFile.OpenReadAsync(await download.PathAsync());
        var mended = $"recordings/kettle-{KettleFolder.MendedKey}.wav";
        Assert.Equal(await File.ReadAllBytesAsync(Path.Combine(claimed.Mended, mended)), await ReadAsync(zip, $"{title}/{mended}"));
        Assert.Single(zip.Entries, e => e.FullName.EndsWith(".wav", StringComparison.Ordinal));
    }

    private static async Task<byte[]> ReadAsync(ZipArchive zip, string path)
    {
        using var content = new MemoryStream();
        await using var stream = await zip.GetEntry(path)!.OpenAsync();
        await stream.CopyToAsync(content);
        return content.ToArray();
    }

    /// <summary>Waits for the page: those of other figures have the same links, and the one that is being left would be gone along.</summary>
    private static async Task OpenNumbersAsync(Hands maker)
    {
        await maker.PressAsync(AriaRole.Link, "Numbers", exact: true);
        await Assertions.Expect(maker.Page).ToHaveURLAsync(new Regex("/workbench/numbers$", RegexOptions.None, TimeSpan.FromSeconds(1)));
    }

    private static async Task SeesItCountedAsync(Hands maker, string slug)
    {
        await OpenNumbersAsync(maker);
        await maker.PressAsync(AriaRole.Link, "Downloads", exact: true);
        await Assertions.Expect(maker.Page).ToHaveURLAsync(new Regex("/numbers/downloads", RegexOptions.None, TimeSpan.FromSeconds(1)));
        var numbers = $"{new Uri(maker.Page.Url).GetLeftPart(UriPartial.Path)}?library={slug}";
        var row = maker.Page.GetByRole(AriaRole.Row, new() { Name = "1.0.0" }).First;
        await Waiting.UntilAsync(async () =>
        {
            await maker.Page.GotoAsync(numbers);
            return await row.CountAsync() == 1 && await row.UnderAsync("Finished") == "1";
        });
    }

    private static async Task SeesWhoIsOnItAsync(Hands maker, string slug)
    {
        await OpenNumbersAsync(maker);
        await maker.PressAsync(AriaRole.Link, "Versions", exact: true);
        await Assertions.Expect(maker.Page).ToHaveURLAsync(new Regex("/numbers/versions", RegexOptions.None, TimeSpan.FromSeconds(1)));
        var versions = $"{new Uri(maker.Page.Url).GetLeftPart(UriPartial.Path)}?library={slug}";
        var row = maker.Page.Locator("#uptakes").GetByRole(AriaRole.Row, new() { Name = "1.0.1" });
        await Waiting.UntilAsync(async () =>
        {
            await maker.Page.GotoAsync(versions);
            return await row.CountAsync() == 1 && await row.UnderAsync("Have it now") == "1 (100\u00a0%)";
        });
        Assert.Equal("1", await row.UnderAsync("Had the box"));
    }
}
