using System.Collections.Concurrent;
using System.Globalization;
using System.Text.RegularExpressions;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// Every page, on a phone's width and a desk's, light and dark: axe-core 4.14.1 (npm, tests/peers) finds nothing against WCAG 2.2 A
/// and AA or its best practices; nothing is wider than the screen; the browser reports no blocked or missing file, and asks nobody but the shelf. On a phone
/// what is pressed is 44 px each way and focus is seen, with forced colours too; with reduced motion nothing moves; on paper all is dark on white (looks.js). What was
/// served has no style attribute, and the Nu HTML checker (npm vnu-jar, its version in tests/peers) finds no error in it. A picture of each is left in
/// artifacts/pages, to look at.
/// </summary>
public sealed partial class EveryPageTests(ClaimedShelf claimed) : IClassFixture<ClaimedShelf>
{
    /// <summary>A line each, after the status it answers where that is not 200. Every page of the program is among them: the table of doors (Web.Tests) says so.</summary>
    private static readonly string[] Pages = File.ReadAllLines(Repository.File("tests/LibraryShelf.Browser.Tests/pages.txt"));

    private readonly ConcurrentDictionary<string, string> served = new(StringComparer.Ordinal);

    [Fact]
    public async Task Reads_well_aloud_fits_the_screen_and_blocks_nothing()
    {
        var maker = await claimed.MakerPageAsync();
        await Walk.PublishAsync(maker, claimed.Shelf, "Every Page Kettles", claimed.Folder, "Free: everyone");
        await maker.GotoAsync(new Uri(claimed.Shelf.Address, "/workbench/members").ToString());
        await maker.GetByLabel("Their e-mail address").FillAsync("wren@post.example");
        await maker.GetByRole(AriaRole.Button, new() { Name = "Give it" }).ClickAsync();
        // Pages of figures are looked at with their pictures.
        await ShelfRows.AddAsync(claimed.Shelf, FiguresToShow.AddAsync);
        var state = await maker.Context.StorageStateAsync();
        // The two widths side by side: a page keeps one process busy.
        var wrong = await Task.WhenAll(WrongAsync(state, 1280, ColorScheme.Light), WrongAsync(state, 390, ColorScheme.Light, ColorScheme.Dark));
        Assert.True(wrong.All(w => w.Count == 0), string.Join('\n', wrong.SelectMany(w => w)));
        Assert.Equal(Pages.Select(p => Read(p).Path).Order(StringComparer.Ordinal), served.Keys.Order(StringComparer.Ordinal));
        Assert.Empty(served.Where(page => StyleAttribute().IsMatch(page.Value)).Select(page => page.Key));
        var errors = await NuHtml.ErrorsAsync(served);
        Assert.True(errors.Length == 0, errors);
    }

    [GeneratedRegex("<[a-z][^>]*\\sstyle=", RegexOptions.IgnoreCase | RegexOptions.NonBacktracking)]
    private static partial Regex StyleAttribute();

    private async Task<List<string>> WrongAsync(string state, int width, params ColorScheme[] schemes)
    {
        await using var context = await claimed.Shelf.Browser.NewContextAsync(new()
        {
            StorageState = state, ViewportSize = new() { Width = width, Height = 900 }, ColorScheme = schemes[0],
        });
        var wrong = new List<string>();
        foreach (var (path, status) in Pages.Select(Read))
            wrong.AddRange((await FaultsAsync(context, path, status, schemes)).Select(fault => $"{path} at {width} px, {fault}"));
        return wrong;
    }

    private static string PictureOf(string path, int width, ColorScheme scheme) => Repository.File(
        $"artifacts/pages/{string.Concat(path.Trim('/').Select(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '.' ? c : '_'))}-{width}-{scheme}.png".Replace("/-", "/shelf-", StringComparison.Ordinal).ToLowerInvariant());

    private static (string Path, int Status) Read(string line) =>
        line[0] == '/' ? (line, 200) : (line[4..], int.Parse(line.AsSpan(0, 3), CultureInfo.InvariantCulture));

    private async Task<List<string>> FaultsAsync(IBrowserContext context, string path, int status, ColorScheme[] schemes)
    {
        var faults = new List<string>();
        var page = await context.NewPageAsync();
        page.Console += (_, message) => { if (message.Type == "error" && !(status != 200 && message.Text.Contains($"status of {status} ", StringComparison.Ordinal))) faults.Add(message.Text); };
        page.Request += (_, request) => { if (new Uri(request.Url) is { Scheme: "http" or "https" } asked && asked.Authority != claimed.Shelf.Address.Authority) faults.Add($"asked {request.Url}"); };
        var answer = await page.GotoAsync(new Uri(claimed.Shelf.Address, path).ToString());
        if (answer!.Status != status) faults.Add($"answered {answer.Status}");
        served.TryAdd(path, await answer.TextAsync());
        faults.AddRange(await Sight.FaultsAsync(page, schemes));
        if (page.ViewportSize!.Width < 720)
            faults.AddRange(await Sight.OtherLooksAsync(page));
        // As it stands at last: in the light on a desk, in the dark on a phone.
        await page.ScreenshotAsync(new() { FullPage = true, Path = PictureOf(path, page.ViewportSize!.Width, schemes[^1]) });
        await page.CloseAsync();
        return faults;
    }
}
