using System.Text.Json;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// Every page, on a phone's width and a desk's, light and dark: axe-core 4.14.1 (npm, tests/peers) finds nothing against WCAG 2.1 A
/// and AA or its best practices; nothing is wider than the screen; the browser reports no blocked or missing file.
/// </summary>
public sealed class EveryPageTests(ClaimedShelf claimed) : IClassFixture<ClaimedShelf>
{
    private const string Rules = "{ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }";

    private static readonly string[] Pages =
    [
        "/", "/boxes/every-page-kettles", "/boxes/every-page-kettles?player=Pondskater&has=1.8", "/boxes/every-page-kettles/something-wrong", "/boxes/every-page-kettles/which-version", "/boxes/every-page-kettles/follow", "/mine/letters", "/letters/AAAAAAAAAAAAAAAAAAAAAA/drop",
        "/boxes/every-page-kettles/1.0.0/licence", "/workbench/libraries/every-page-kettles/faults", "/workbench/releases/1/withdraw", "/help", "/terms", "/privacy", "/licence", "/write", "/sign-in", "/sign-in/code", "/mine", "/mine/address", "/mine/data", "/mine/delete",
        "/workbench", "/workbench/drops", "/workbench/drops/2027-12", "/workbench/libraries/new", "/workbench/libraries/every-page-kettles", "/workbench/releases/1",
        "/workbench/libraries/every-page-kettles/limits", "/workbench/releases/1/sheet", "/workbench/releases/1/sheet?all=true&sort=-peak", "/workbench/releases/1/changes", "/workbench/releases/1/words", "/workbench/releases/1/seal", "/workbench/members", "/workbench/members/import", "/workbench/members/merge", "/workbench/membership", "/workbench/membership/prices", "/workbench/membership/credit", "/join",
        "/workbench/numbers", "/workbench/numbers/downloads", "/workbench/numbers/libraries", "/workbench/numbers/versions", "/workbench/numbers/versions/every-page-kettles/letter", "/workbench/numbers/downloads?against=2026-01-01", "/workbench/numbers/members", "/workbench/numbers/members?against=2026-01", "/workbench/numbers/drops", "/workbench/downloads", "/workbench/jobs", "/workbench/outbox", "/workbench/tokens", "/workbench/shop",
    ];

    [Fact]
    public async Task Reads_well_aloud_fits_the_screen_and_blocks_nothing()
    {
        var maker = await claimed.MakerPageAsync();
        await Walk.PublishAsync(maker, claimed.Shelf, "Every Page Kettles", claimed.Folder, "Free: everyone");
        var state = await maker.Context.StorageStateAsync();
        // The two widths side by side: a page keeps one process busy.
        var wrong = await Task.WhenAll(WrongAsync(state, 1280, ColorScheme.Light), WrongAsync(state, 390, ColorScheme.Light, ColorScheme.Dark));
        Assert.True(wrong.All(w => w.Count == 0), string.Join('\n', wrong.SelectMany(w => w)));
    }

    private async Task<List<string>> WrongAsync(string state, int width, params ColorScheme[] schemes)
    {
        await using var context = await claimed.Shelf.Browser.NewContextAsync(new()
        {
            StorageState = state, ViewportSize = new() { Width = width, Height = 900 }, ColorScheme = schemes[0],
        });
        await context.AddInitScriptAsync(scriptPath: Repository.File("tests/peers/node_modules/axe-core/axe.min.js"));
        var wrong = new List<string>();
        foreach (var path in Pages)
            wrong.AddRange((await FaultsAsync(context, path, schemes)).Select(fault => $"{path} at {width} px, {fault}"));
        return wrong;
    }

    private async Task<List<string>> FaultsAsync(IBrowserContext context, string path, ColorScheme[] schemes)
    {
        var faults = new List<string>();
        var page = await context.NewPageAsync();
        page.Console += (_, message) => { if (message.Type == "error") faults.Add(message.Text); };
        var answer = await page.GotoAsync(new Uri(claimed.Shelf.Address, path).ToString());
        if (answer!.Status != 200) faults.Add($"answered {answer.Status}");
        foreach (var scheme in schemes)
        {
            await page.EmulateMediaAsync(new() { ColorScheme = scheme });
            var width = await page.EvaluateAsync<int>("document.documentElement.scrollWidth - document.documentElement.clientWidth");
            if (width > 0) faults.Add($"{scheme}: {width} px wider than the screen");
            var found = await page.EvaluateAsync<JsonElement>($"axe.run(document, {Rules}).then(r => r.violations.map(v => v.id + ': ' + v.nodes[0].html.slice(0, 200)))");
            faults.AddRange(found.EnumerateArray().Select(f => $"{scheme}: {f.GetString()}"));
        }
        await page.CloseAsync();
        return faults;
    }
}
