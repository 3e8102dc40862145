using System.Text.Json;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// What a page in front of somebody must hold to, whatever it shows: axe-core (npm, tests/peers) finds nothing against WCAG 2.2 A and AA or its best practices; it is
/// no wider than the screen; and what looks.js asks of phones, forced colours, reduced motion and paper.
/// </summary>
internal static class Sight
{
    private const string Rules = "{ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }";

    /// <summary>Of what is pressed, each way, CSS px (docs/look.md; WCAG 2.2, 2.5.5).</summary>
    private const int LeastTarget = 44;

    private static readonly Lazy<string> Scripts = new(() =>
        File.ReadAllText(Repository.File("tests/peers/node_modules/axe-core/axe.min.js")) + ";\n" + File.ReadAllText(Repository.File("tests/LibraryShelf.Browser.Tests/looks.js")));

    /// <summary>Looks at the page as it stands now; leaves a picture of it in artifacts/pages.</summary>
    /// <param name="page">With script.</param>
    /// <param name="name">Of the state, for the picture and for what is wrong.</param>
    public static async Task IsWellAsync(IPage page, string name)
    {
        await page.WaitForLoadStateAsync();
        await page.ScreenshotAsync(new() { FullPage = true, Path = Repository.File($"artifacts/pages/story-{name}-{page.ViewportSize!.Width}.png") });
        var faults = await FaultsAsync(page, [ColorScheme.Light, ColorScheme.Dark]);
        if (page.ViewportSize.Width < 720)
            faults.AddRange(await OtherLooksAsync(page));
        Assert.True(faults.Count == 0, $"{name}, {page.Url}:\n{string.Join('\n', faults)}");
        await page.EmulateMediaAsync(new() { ColorScheme = ColorScheme.Null });
    }

    /// <summary>In each scheme; the last one stays.</summary>
    public static async Task<List<string>> FaultsAsync(IPage page, IEnumerable<ColorScheme> schemes)
    {
        var faults = new List<string>();
        // As the browser's own, not as the page's, whose policy would refuse it.
        await page.EvaluateAsync($"() => {{ {Scripts.Value} }}");
        foreach (var scheme in schemes)
        {
            await page.EmulateMediaAsync(new() { ColorScheme = scheme });
            var width = await page.EvaluateAsync<int>("document.documentElement.scrollWidth - document.documentElement.clientWidth");
            if (width > 0) faults.Add($"{scheme}: {width} px wider than the screen");
            var found = await page.EvaluateAsync<JsonElement>($"axe.run(document, {Rules}).then(r => r.violations.map(v => v.id + ': ' + v.nodes[0].html.slice(0, 200)))");
            faults.AddRange(found.EnumerateArray().Select(f => $"{scheme}: {f.GetString()}"));
        }
        return faults;
    }

    /// <summary>After <see cref="FaultsAsync"/>.</summary>
    public static async Task<List<string>> OtherLooksAsync(IPage page)
    {
        var faults = new List<string>();
        var focused = await page.EvaluateHandleAsync("() => document.activeElement");
        async Task LookAsync(string check, PageEmulateMediaOptions at)
        {
            await page.EmulateMediaAsync(at);
            faults.AddRange((await page.EvaluateAsync<string[]>("looks." + check)).Select(f => $"{at.ForcedColors} {at.Media}: {f}"));
        }

        await LookAsync($"small({LeastTarget})", new());
        await LookAsync("unmarked()", new());
        await LookAsync("moving()", new() { ReducedMotion = ReducedMotion.Reduce });
        await LookAsync("unmarked()", new() { ForcedColors = ForcedColors.Active });
        await LookAsync("onPaper()", new() { ForcedColors = ForcedColors.None, Media = Media.Print });
        await page.EmulateMediaAsync(new() { ForcedColors = ForcedColors.None, Media = Media.Screen, ReducedMotion = ReducedMotion.NoPreference });
        await focused.EvaluateAsync("e => { document.activeElement?.blur(); e?.focus?.(); scrollTo(0, 0); }");
        return faults;
    }
}
