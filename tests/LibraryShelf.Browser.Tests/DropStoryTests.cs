using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// A month in Chromium, in practice mode: the maker plans it, puts a draft in, seals that, lets the month come; a member hears of it and takes it whole. The
/// member is on a phone; each page on the way holds to <see cref="Sight"/>.
/// </summary>
public sealed class DropStoryTests(PracticeShelf practice) : IClassFixture<PracticeShelf>
{
    private const string Email = "knot@post.example";
    private const string Title = "Spring tide month";
    private readonly RunningShelf shelf = practice.Shelf;

    [Fact]
    public async Task A_month_is_planned_comes_and_is_taken_whole()
    {
        var maker = await practice.MakerPageAsync();
        await Walk.PrepareAsync(maker, shelf, "Tidal Kettles", practice.Folder);
        await PlanAsync(maker);
        var drop = maker.Url;
        await SealAsync(maker, drop);
        await GiveAsync(maker);

        await using var phone = await shelf.Browser.NewContextAsync(new() { ViewportSize = new() { Width = 390, Height = 844 } });
        var member = await phone.NewPageAsync();
        await Walk.SignInByMailAsync(member, shelf, Email);
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).ToContainTextAsync("Next drop:");
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).Not.ToContainTextAsync(Title);
        await Sight.IsWellAsync(member, "mine-given");

        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/practice").ToString());
        await maker.GetByRole(AriaRole.Button, new() { Name = "Let a month pass" }).First.ClickAsync();
        await Waiting.UntilAsync(async () =>
        {
            await member.GotoAsync(new Uri(shelf.Address, "/mine").ToString());
            return (await member.GetByRole(AriaRole.Main).InnerTextAsync()).Contains($"This month’s drop: {Title}", StringComparison.Ordinal);
        });
        await Sight.IsWellAsync(member, "mine-drop");
        var whole = await member.RunAndWaitForDownloadAsync(() => member.GetByRole(AriaRole.Button, new() { Name = "The whole month" }).ClickAsync());
        Assert.Null(await whole.FailureAsync());
        Assert.EndsWith(".zip", whole.SuggestedFilename, StringComparison.Ordinal);
        await member.GotoAsync(shelf.Address.ToString());
        await member.GetByRole(AriaRole.Link, new() { Name = Title }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).ToContainTextAsync("Tidal Kettles 1.0.0, for members");
        await Sight.IsWellAsync(member, "drop");
        await maker.GotoAsync(drop);
        await Assertions.Expect(maker.GetByRole(AriaRole.Main)).ToContainTextAsync("Tidal Kettles");
        await Sight.IsWellAsync(maker, "drop-out");
        await Waiting.UntilAsync(() => Outbox.HasAsync(shelf, Email, "month"));
    }

    private async Task PlanAsync(IPage maker)
    {
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/drops").ToString());
        await maker.Locator(".months a").Nth(1).ClickAsync();
        await maker.GetByLabel("Title").FillAsync(Title);
        await maker.GetByRole(AriaRole.Button, new() { Name = "Plan it" }).ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Main)).ToContainTextAsync("has no library");
        await maker.GetByRole(AriaRole.Button, new() { Name = "Put it in" }).ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Main)).ToContainTextAsync("Tidal Kettles 1.0.0 is not sealed");
        await Sight.IsWellAsync(maker, "drop-not-sealed");
        await maker.GetByLabel("The recordings of this library are mine to give").CheckAsync();
        await maker.GetByRole(AriaRole.Button, new() { Name = "Say so of Tidal Kettles" }).ClickAsync();
    }

    private static async Task SealAsync(IPage maker, string drop)
    {
        await maker.GetByRole(AriaRole.Link, new() { Name = "See what sealing waits for" }).ClickAsync();
        await maker.GetByRole(AriaRole.Button, new() { Name = "Seal 1.0.0" }).ClickAsync();
        await Waiting.UntilAsync(async () =>
        {
            await maker.GotoAsync(drop);
            return (await maker.GetByRole(AriaRole.Main).InnerTextAsync()).Contains("Waits for its drop", StringComparison.Ordinal);
        });
        await Sight.IsWellAsync(maker, "drop-ready");
    }

    private async Task GiveAsync(IPage maker)
    {
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/members").ToString());
        await maker.GetByLabel("Their e-mail address").FillAsync(Email);
        await maker.GetByRole(AriaRole.Button, new() { Name = "Give it" }).ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Main)).ToContainTextAsync(Email);
    }
}
