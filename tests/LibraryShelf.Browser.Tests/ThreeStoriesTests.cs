using System.IO.Compression;
using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// The three stories that must always work, one after the other: the maker publishes a version for members, a member downloads it, the maker sees that
/// counted. On a desk's width and a phone's, with and without script, with a pointer and by the keyboard alone; a desk with script and a pointer is in
/// <see cref="StoryTests"/>.
/// </summary>
public sealed class ThreeStoriesTests(ClaimedShelf claimed) : IClassFixture<ClaimedShelf>
{
    private readonly RunningShelf shelf = claimed.Shelf;

    [Theory]
    [InlineData(390, true, false)]
    [InlineData(1280, false, false)]
    [InlineData(390, false, false)]
    [InlineData(1280, true, true)]
    [InlineData(390, true, true)]
    [InlineData(1280, false, true)]
    public async Task Published_downloaded_counted(int width, bool withScript, bool byKeyboard)
    {
        var title = $"Kettles {width} {(withScript ? "with" : "without")} script{(byKeyboard ? " by keys" : "")}";
        var slug = title.ToLowerInvariant().Replace(' ', '-');
        var email = $"{slug}@post.example";
        var maker = await OpenAsync(width, withScript, byKeyboard);
        await Walk.SignInAsMakerAsync(maker, shelf);
        await PublishAsync(maker, title, withScript);
        await GrantAsync(maker, email);

        var member = await OpenAsync(width, withScript, byKeyboard);
        await Walk.SignInByMailAsync(member, shelf, email);
        await DownloadAsync(member, title);

        await SeesItCountedAsync(maker, slug);
        await maker.Page.Context.CloseAsync();
        await member.Page.Context.CloseAsync();
    }

    private async Task<Hands> OpenAsync(int width, bool withScript, bool byKeyboard)
    {
        var context = await shelf.Browser.NewContextAsync(new()
        {
            ViewportSize = new() { Width = width, Height = 844 }, JavaScriptEnabled = withScript, UserAgent = Walk.PersonsBrowser,
        });
        var page = await context.NewPageAsync();
        return byKeyboard ? new KeyboardHands(page) : new PointerHands(page);
    }

    private async Task PublishAsync(Hands maker, string title, bool withScript)
    {
        var zip = Path.Combine(Directory.CreateTempSubdirectory("kettle-zip-").FullName, "kettles.zip");
        try
        {
            await ZipFile.CreateFromDirectoryAsync(claimed.Folder, zip, CompressionLevel.Fastest, includeBaseDirectory: true);
            await Walk.PublishAsync(maker, shelf, title, withScript ? claimed.Folder : zip, "Members only", withScript ? Walk.ChooseAsync : Walk.SendZipAsync);
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
        {
            using var content = new MemoryStream();
            await using (var stream = await zip.GetEntry($"{title}/{Path.GetRelativePath(claimed.Folder, file)}")!.OpenAsync()) await stream.CopyToAsync(content);
            Assert.Equal(await File.ReadAllBytesAsync(file), content.ToArray());
        }
    }

    private static async Task SeesItCountedAsync(Hands maker, string slug)
    {
        await maker.PressAsync(AriaRole.Link, "Numbers", exact: true);
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
}
