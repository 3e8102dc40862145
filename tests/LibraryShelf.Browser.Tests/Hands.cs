using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>How somebody works a page.</summary>
internal abstract class Hands(IPage page)
{
    public IPage Page => page;

    /// <summary>Without script a page of long work loads itself anew every ten seconds; whoever is in haste does so before.</summary>
    public bool IsInHaste { get; init; }

    /// <summary>Somebody's hands on a page of their own, not signed in unless <paramref name="state"/> is of who is.</summary>
    public static async Task<Hands> OpenAsync(RunningShelf shelf, int width, bool withScript, bool byKeys, bool isInHaste = false, string? state = null)
    {
        var context = await shelf.NewContextAsync(new()
        {
            ViewportSize = new() { Width = width, Height = 844 }, JavaScriptEnabled = withScript, UserAgent = Walk.PersonsBrowser, StorageState = state,
        });
        return Of(await context.NewPageAsync(), byKeys, isInHaste);
    }

    /// <summary>The same person goes on with the keyboard or a pointer, on the same page.</summary>
    public Hands GoingOn(bool byKeys, bool isInHaste) => Of(page, byKeys, isInHaste);

    private static Hands Of(IPage page, bool byKeys, bool isInHaste) => byKeys ? new KeyboardHands(page) { IsInHaste = isInHaste } : new PointerHands(page) { IsInHaste = isInHaste };

    /// <summary>Waits until the page says so.</summary>
    public Task SeesAsync(string words) => !IsInHaste ? Assertions.Expect(page.GetByRole(AriaRole.Main)).ToContainTextAsync(words) : Waiting.UntilAsync(async () =>
    {
        await page.GotoAsync(page.Url);
        return (await page.GetByRole(AriaRole.Main).InnerTextAsync()).Contains(words, StringComparison.Ordinal);
    });

    public abstract Task PressAsync(ILocator target);

    public abstract Task FillAsync(ILocator field, string text);

    /// <summary>Opens the browser's own window for files and chooses one.</summary>
    public async Task ChooseAsync(string label, string file)
    {
        var chooser = await page.RunAndWaitForFileChooserAsync(() => OpenAsync(page.GetByLabel(label)));
        await chooser.SetFilesAsync(file);
    }

    protected abstract Task OpenAsync(ILocator field);

    /// <summary>Ticks a box, or chooses one of several.</summary>
    public abstract Task CheckAsync(ILocator choice);

    public Task PressAsync(AriaRole role, string name, bool exact = false) => PressAsync(page.GetByRole(role, new() { Name = name, Exact = exact }).First);

    public Task FillAsync(string label, string text, bool exact = false) => FillAsync(page.GetByLabel(label, new() { Exact = exact }), text);

    public Task CheckAsync(string label) => CheckAsync(page.GetByLabel(label));
}

/// <summary>With a mouse or a finger, and a keyboard for what is written.</summary>
internal sealed class PointerHands(IPage page) : Hands(page)
{
    public override Task PressAsync(ILocator target) => target.ClickAsync();

    public override Task FillAsync(ILocator field, string text) => field.FillAsync(text);

    protected override Task OpenAsync(ILocator field) => field.ClickAsync();

    public override Task CheckAsync(ILocator choice) => choice.CheckAsync();
}

/// <summary>
/// With the keyboard alone: Tab until the thing wanted has the focus, then Enter, Space, arrows or letters. What is reached must show it (WCAG 2.2,
/// 2.4.7), on the screen (2.4.11: not hidden).
/// </summary>
internal sealed class KeyboardHands(IPage page) : Hands(page)
{
    /// <summary>More than any page has to tab to.</summary>
    private const int MostTabs = 500;

    public override async Task PressAsync(ILocator target)
    {
        await ReachAsync(target);
        await Page.Keyboard.PressAsync("Enter");
    }

    public override async Task FillAsync(ILocator field, string text)
    {
        await ReachAsync(field);
        await Page.Keyboard.PressAsync("Control+A");
        await Page.Keyboard.InsertTextAsync(text);
        Assert.Equal(text, await field.InputValueAsync());
    }

    protected override async Task OpenAsync(ILocator field)
    {
        await ReachAsync(field);
        await Page.Keyboard.PressAsync("Space");
    }

    public override async Task CheckAsync(ILocator choice)
    {
        if (await choice.IsCheckedAsync())
            return;
        if (await choice.GetAttributeAsync("type") == "radio")
            await ArrowToAsync(choice);
        else
        {
            await ReachAsync(choice);
            await Page.Keyboard.PressAsync("Space");
        }
        Assert.True(await choice.IsCheckedAsync());
    }

    /// <summary>One of several is reached as a whole; the arrows choose within it.</summary>
    private async Task ArrowToAsync(ILocator choice)
    {
        var group = Page.Locator($"input[type=radio][name=\"{await choice.GetAttributeAsync("name")}\"]");
        await ReachAsync(group);
        if (!await group.EvaluateAllAsync<bool>("all => all.some(one => one.checked)"))
            await Page.Keyboard.PressAsync("Space");
        for (var presses = await group.CountAsync(); presses > 0 && !await choice.IsCheckedAsync(); presses--)
            await Page.Keyboard.PressAsync("ArrowDown");
    }

    /// <summary>Tabs on until one of these has the focus.</summary>
    private async Task ReachAsync(ILocator target)
    {
        await Assertions.Expect(target.First).ToBeVisibleAsync();
        for (var tabs = 0; !await HasFocusAsync(target); tabs++)
        {
            Assert.True(tabs < MostTabs, $"{target} is not reached by Tab on {Page.Url}.");
            await Page.Keyboard.PressAsync("Tab");
        }
        Assert.True(await Page.EvaluateAsync<bool>(ShowsFocus), $"{target} on {Page.Url} does not show that it has the focus.");
    }

    private static Task<bool> HasFocusAsync(ILocator target) => target.EvaluateAllAsync<bool>("all => all.includes(document.activeElement)");

    /// <summary>The focused thing, or its label, has an outline of two pixels or more, and its middle lies within the window and is not covered by another thing.</summary>
    private const string ShowsFocus = """
        () => {
            const e = document.activeElement;
            const outlined = [e, ...(e.labels ?? [])].some(x => { const s = getComputedStyle(x); return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2; });
            const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + Math.min(r.height, innerHeight) / 2;
            const top = document.elementFromPoint(x, y);
            return outlined && !!top && (e.contains(top) || top.contains(e) || [...(e.labels ?? [])].some(l => l.contains(top)));
        }
        """;
}
