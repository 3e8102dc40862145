using System.Collections.Concurrent;
using System.Text.Json;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// What a page in front of somebody must hold to, whatever it shows: axe-core (npm, tests/peers) finds nothing against WCAG 2.2 A and AA or its best practices; it is
/// no wider than the screen; and what looks.js asks of phones, forced colours, reduced motion and paper. Pictures of what it saw are left in artifacts/pages. The
/// HTML is kept as it was served, for the Nu HTML checker.
/// </summary>
internal sealed class Sight
{
    /// <summary>Of a desk and of a phone, CSS px.</summary>
    public const int Desk = 1280, Phone = 390;

    private const string Rules = "{ runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }";

    /// <summary>Those of <see cref="Rules"/> that go by colour. In the dark nothing else is another than in the light (<c>EveryPageTests</c>).</summary>
    private const string ColourRules = "{ runOnly: { type: 'rule', values: ['color-contrast', 'link-in-text-block'] } }";

    /// <summary>Of what is pressed, each way, CSS px (docs/look.md; WCAG 2.2, 2.5.5).</summary>
    private const int LeastTarget = 44;

    private static readonly Lazy<string> Scripts = new(() =>
        File.ReadAllText(Repository.File("tests/peers/node_modules/axe-core/axe.min.js")) + ";\n" + File.ReadAllText(Repository.File("tests/LibraryShelf.Browser.Tests/looks.js")));

    private readonly ConcurrentDictionary<string, string> served = new(StringComparer.Ordinal);

    /// <summary>HTML by where or as what it was seen first.</summary>
    public IReadOnlyDictionary<string, string> Served => served;

    /// <summary>For a context most of whose pages are looked at: what looks comes with the page, in a quarter of the time.</summary>
    public static Task ComeWithAsync(IBrowserContext context) => context.AddInitScriptAsync(Scripts.Value);

    /// <summary>Looks at the page as it stands now.</summary>
    /// <param name="page">With script.</param>
    /// <param name="name">Of the state, for the pictures and for what is wrong.</param>
    /// <param name="inAllLooks">On a desk too (<see cref="FaultsAsync"/>).</param>
    public async Task IsWellAsync(IPage page, string name, bool inAllLooks = false)
    {
        await page.WaitForLoadStateAsync();
        var faults = await FaultsAsync(page, "story " + name, inAllLooks);
        Assert.True(faults.Count == 0, $"{name}, {page.Url}:\n{string.Join('\n', faults)}");
        await page.EmulateMediaAsync(new() { ColorScheme = ColorScheme.Null });
    }

    /// <summary>The same on a desk and on a phone, where the page stays.</summary>
    public async Task IsWellAtBothAsync(IPage page, string name, bool inAllLooks = false)
    {
        foreach (var width in new[] { Desk, Phone })
        {
            await page.SetViewportSizeAsync(width, 900);
            await IsWellAsync(page, name, inAllLooks);
        }
    }

    /// <summary>What was seen until now, before the Nu HTML checker and as the content policy wants it.</summary>
    public async Task HtmlIsWellAsync()
    {
        Assert.NotEmpty(served);
        Assert.Empty(served.Where(page => NuHtml.StyleAttribute().IsMatch(page.Value)).Select(page => page.Key));
        var errors = await NuHtml.ErrorsAsync(served);
        Assert.True(errors.Length == 0, errors);
    }

    /// <summary>In the light and in the dark, as which it stays.</summary>
    /// <param name="page">Loaded, with script.</param>
    /// <param name="name">An address, or what the state is called.</param>
    /// <param name="inAllLooks">On a desk too, where forced colours, reduced motion and paper cost as much again as the rest.</param>
    public async Task<List<string>> FaultsAsync(IPage page, string name, bool inAllLooks = false)
    {
        if (!served.ContainsKey(name))
            served.TryAdd(name, await RunningShelf.SourceAsync(page));
        var faults = new List<string>();
        // As the browser's own, not as the page's, whose policy would refuse it.
        if (!await page.EvaluateAsync<bool>("'axe' in window"))
            await page.EvaluateAsync($"() => {{ {Scripts.Value} }}");
        var browser = await page.Context.NewCDPSessionAsync(page);
        foreach (var (scheme, rules) in new[] { (ColorScheme.Light, Rules), (ColorScheme.Dark, ColourRules) })
        {
            await page.EmulateMediaAsync(new() { ColorScheme = scheme });
            var found = await page.EvaluateAsync<JsonElement>($"document.fonts.ready.then(() => axe.run(document, {rules})).then(r => r.violations.map(v => v.id + ': ' + v.nodes[0].html.slice(0, 200)))");
            faults.AddRange(found.EnumerateArray().Select(f => $"{scheme}: {f.GetString()}"));
            await PictureAsync(browser, PictureOf(name, page.ViewportSize!.Width, scheme));
        }
        await browser.DetachAsync();
        var width = await page.EvaluateAsync<int>("document.documentElement.scrollWidth - document.documentElement.clientWidth");
        if (width > 0) faults.Add($"{width} px wider than the screen");
        faults.AddRange(await OtherLooksAsync(page, inAllLooks || page.ViewportSize!.Width < 720));
        return faults;
    }

    /// <summary>All of the page, without Playwright's waiting for what has come already and without its care for small files: half of the time.</summary>
    private static async Task PictureAsync(ICDPSession browser, string path)
    {
        var size = (await browser.SendAsync("Page.getLayoutMetrics"))!.Value.GetProperty("cssContentSize");
        var picture = await browser.SendAsync("Page.captureScreenshot", new()
        {
            ["optimizeForSpeed"] = true, ["captureBeyondViewport"] = true,
            ["clip"] = new { x = 0, y = 0, width = size.GetProperty("width").GetDouble(), height = size.GetProperty("height").GetDouble(), scale = 1 },
        });
        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
        await File.WriteAllBytesAsync(path, picture!.Value.GetProperty("data").GetBytesFromBase64());
    }

    private static string PictureOf(string name, int width, ColorScheme scheme) => Repository.File(
        $"artifacts/pages/{string.Concat((name == "/" ? "shelf" : name.Trim('/')).Select(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '.' ? c : '_'))}-{width}-{scheme}.png".ToLowerInvariant());

    /// <summary>Targets and a seen focus, which on a desk are reached another way than on a phone; and the looks that a page has besides.</summary>
    private static async Task<List<string>> OtherLooksAsync(IPage page, bool inAll)
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
        if (inAll)
        {
            await LookAsync("moving()", new() { ReducedMotion = ReducedMotion.Reduce });
            await LookAsync("unmarked()", new() { ForcedColors = ForcedColors.Active });
            await LookAsync("emptied()", new() { ForcedColors = ForcedColors.Active });
            await LookAsync("onPaper()", new() { ForcedColors = ForcedColors.None, Media = Media.Print });
            await page.EmulateMediaAsync(new() { ForcedColors = ForcedColors.None, Media = Media.Screen, ReducedMotion = ReducedMotion.NoPreference });
            // Or the next look would be at what is printed.
            if (await page.EvaluateAsync<bool>("matchMedia('print').matches")) faults.Add("still as on paper");
        }
        await focused.EvaluateAsync("e => { document.activeElement?.blur(); e?.focus?.(); scrollTo(0, 0); }");
        return faults;
    }
}
