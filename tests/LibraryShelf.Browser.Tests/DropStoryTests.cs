using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// A month in Chromium, in practice mode: the maker plans it, puts a draft in, seals that, lets the month come; a member hears of it and takes it whole. What can be done
/// over again is done on a desk and on a phone, with and without script, with a pointer or by the keyboard alone. With script each page on the way holds to <see cref="Sight"/>.
/// </summary>
public sealed class DropStoryTests(PracticeShelf practice) : IClassFixture<PracticeShelf>
{
    private const string Email = "knot@post.example";
    private const string Title = "Spring tide month";
    private readonly RunningShelf shelf = practice.Shelf;
    private readonly Sight sight = new();

    [Fact]
    public async Task A_month_is_planned_comes_and_is_taken_whole()
    {
        var maker = await practice.MakerPageAsync();
        await Walk.PrepareAsync(maker, shelf, "Tidal Kettles", practice.Folder);
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/drops").ToString());
        var drop = new Uri(shelf.Address, await maker.Locator(".months a").Nth(1).GetAttributeAsync("href")).ToString();
        var makers = await EachWayAsync(maker);
        for (var i = 0; i < makers.Length; i++)
            await PlanAsync(makers[i], drop, isFirst: i == 0);
        await SealAsync(makers[^1], drop);
        foreach (var hands in makers)
        {
            await hands.Page.GotoAsync(drop);
            await hands.SeesAsync("Waits for its drop");
        }
        await sight.IsWellAsync(makers[0].Page, "drop-ready");
        await GiveAsync(maker);

        await using var phone = await shelf.NewContextAsync(new() { ViewportSize = new() { Width = Sight.Phone, Height = 844 } });
        var member = await phone.NewPageAsync();
        await Walk.SignInByMailAsync(member, shelf, Email);
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).ToContainTextAsync("Next drop:");
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).Not.ToContainTextAsync(Title);
        await sight.IsWellAsync(member, "mine-given");

        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/practice").ToString());
        await maker.GetByRole(AriaRole.Button, new() { Name = "Let a month pass" }).First.ClickAsync();
        await Waiting.UntilAsync(async () =>
        {
            await member.GotoAsync(new Uri(shelf.Address, "/mine").ToString());
            return (await member.GetByRole(AriaRole.Main).InnerTextAsync()).Contains($"This month’s drop: {Title}", StringComparison.Ordinal);
        });
        await sight.IsWellAsync(member, "mine-drop");
        foreach (var hands in await EachWayAsync(member))
            await TakeAsync(hands);
        foreach (var hands in makers)
        {
            await hands.Page.GotoAsync(drop);
            await hands.SeesAsync("Tidal Kettles");
        }
        await sight.IsWellAsync(makers[0].Page, "drop-out");
        await Waiting.UntilAsync(() => Outbox.HasAsync(shelf, Email, "month"));
        await sight.HtmlIsWellAsync();
    }

    /// <summary>Hands of who is signed in on the page, each way once.</summary>
    private async Task<Hands[]> EachWayAsync(IPage page)
    {
        var state = await page.Context.StorageStateAsync();
        return await Task.WhenAll(
            Hands.OpenAsync(shelf, Sight.Desk, withScript: true, byKeys: false, state: state),
            Hands.OpenAsync(shelf, Sight.Phone, withScript: true, byKeys: true, state: state),
            Hands.OpenAsync(shelf, Sight.Desk, withScript: false, byKeys: true, state: state),
            Hands.OpenAsync(shelf, Sight.Phone, withScript: false, byKeys: false, state: state));
    }

    /// <summary>The first plans the month; each after that takes the version out and puts it in again.</summary>
    private async Task PlanAsync(Hands maker, string drop, bool isFirst)
    {
        await maker.Page.GotoAsync(drop);
        await maker.FillAsync("Title", Title);
        await maker.PressAsync(AriaRole.Button, isFirst ? "Plan it" : "Keep the plan");
        if (!isFirst)
        {
            await Assertions.Expect(maker.Page.GetByRole(AriaRole.Status)).ToBeVisibleAsync();
            await maker.PressAsync(AriaRole.Button, "Take out Tidal Kettles 1.0.0");
        }
        await maker.SeesAsync("has no library");
        await maker.PressAsync(AriaRole.Button, "Put it in");
        await maker.SeesAsync("Tidal Kettles 1.0.0 is not sealed");
        if (!isFirst)
            return;
        await sight.IsWellAsync(maker.Page, "drop-not-sealed");
        await maker.CheckAsync("The recordings of this library are mine to give");
        await maker.PressAsync(AriaRole.Button, "Say so of Tidal Kettles");
        await Assertions.Expect(maker.Page.GetByRole(AriaRole.Button, new() { Name = "Say so of Tidal Kettles" })).ToHaveCountAsync(0);
    }

    private static async Task SealAsync(Hands maker, string drop)
    {
        await maker.PressAsync(AriaRole.Link, "See what sealing waits for");
        await maker.PressAsync(AriaRole.Button, "Seal 1.0.0");
        await Assertions.Expect(maker.Page.GetByRole(AriaRole.Button, new() { Name = "Seal 1.0.0" })).ToHaveCountAsync(0);
        await Waiting.UntilAsync(async () =>
        {
            await maker.Page.GotoAsync(drop);
            return (await maker.Page.GetByRole(AriaRole.Main).InnerTextAsync()).Contains("Waits for its drop", StringComparison.Ordinal);
        });
    }

    private async Task GiveAsync(IPage maker)
    {
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/members").ToString());
        await maker.GetByLabel("Their e-mail address").FillAsync(Email);
        await maker.GetByRole(AriaRole.Button, new() { Name = "Give it" }).ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Main)).ToContainTextAsync(Email);
    }

    private async Task TakeAsync(Hands member)
    {
        await member.Page.GotoAsync(new Uri(shelf.Address, "/mine").ToString());
        await member.SeesAsync($"This month’s drop: {Title}");
        var whole = await member.Page.RunAndWaitForDownloadAsync(() => member.PressAsync(AriaRole.Button, "The whole month"));
        Assert.Null(await whole.FailureAsync());
        Assert.EndsWith(".zip", whole.SuggestedFilename, StringComparison.Ordinal);
        await member.Page.GotoAsync(shelf.Address.ToString());
        await member.PressAsync(AriaRole.Link, Title);
        await member.SeesAsync("Tidal Kettles 1.0.0, for members");
        if (member is KeyboardHands && member.Page.ViewportSize!.Width == Sight.Phone)
            await sight.IsWellAsync(member.Page, "drop");
        await member.Page.Context.CloseAsync();
    }
}
