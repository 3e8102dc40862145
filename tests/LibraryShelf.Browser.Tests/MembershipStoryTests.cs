using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// A member's whole life in Chromium, in practice mode: joins, downloads the month's library, fails a renewal, is in grace, recovers, leaves, and still
/// downloads what was paid for. The member is on a phone.
/// </summary>
public sealed class MembershipStoryTests(PracticeShelf practice) : IClassFixture<PracticeShelf>
{
    private const string Email = "dunlin@post.example";
    private readonly RunningShelf shelf = practice.Shelf;

    [Fact]
    public async Task A_member_joins_pays_fails_recovers_leaves_and_keeps_what_was_paid_for()
    {
        var maker = await practice.MakerPageAsync();
        await Walk.PublishAsync(maker, shelf, "Tied Kettles", practice.Folder, "Members only");
        await OfferAsync(maker);

        await using var phone = await shelf.Browser.NewContextAsync(new() { ViewportSize = new() { Width = 390, Height = 844 } });
        var member = await phone.NewPageAsync();
        await JoinAsync(member);
        await DownloadAsync(member);

        await PlayAsync(maker, "Let the next renewal fail");
        await PlayAsync(maker, "Let a month pass");
        await SeesAsync(member, "did not go through");
        await DownloadAsync(member);

        await PlayAsync(maker, "Pay it", exact: true);
        await SeesAsync(member, "It goes on by itself");
        await Assertions.Expect(member.GetByRole(AriaRole.Table).Filter(new() { HasText = "Open since" }).GetByRole(AriaRole.Row)).ToHaveCountAsync(3);

        await LeaveAsync(member);
        await PlayAsync(maker, "Let a month pass");
        await PlayAsync(maker, "Let a month pass");
        await SeesAsync(member, "It has ended");
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).ToContainTextAsync("yours for good, by a month of your membership");
        await DownloadAsync(member);
    }

    private async Task OfferAsync(IPage maker)
    {
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/membership").ToString());
        await maker.GetByLabel("Price in EUR").FillAsync("6");
        await maker.GetByRole(AriaRole.Button, new() { Name = "Offer it" }).ClickAsync();
        await maker.GetByLabel("Words beside the box they tick").FillAsync("Give me the boxes at once.");
        await maker.GetByRole(AriaRole.Button, new() { Name = "Keep", Exact = true }).ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Status)).ToContainTextAsync("Kept.");
    }

    private async Task JoinAsync(IPage member)
    {
        await member.GotoAsync(new Uri(shelf.Address, "/join").ToString());
        await member.GetByLabel("Your e-mail address").FillAsync(Email);
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying €6.00" }).ClickAsync();
        // Not ticked: said beside the box, nothing lost.
        await Assertions.Expect(member.GetByRole(AriaRole.Alert)).ToContainTextAsync("Tick the box");
        await member.GetByLabel("Give me the boxes at once.").CheckAsync();
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying €6.00" }).ClickAsync();
        await member.GetByLabel("is declined").CheckAsync();
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying" }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Alert)).ToContainTextAsync("declined");
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying" }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You have joined");
        await member.GetByRole(AriaRole.Link, new() { Name = "See what is yours" }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).ToContainTextAsync("You are a member");
    }

    private async Task LeaveAsync(IPage member)
    {
        await member.GotoAsync(new Uri(shelf.Address, "/leave").ToString());
        await member.GetByRole(AriaRole.Button, new() { Name = "Leave", Exact = true }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You have left");
    }

    private async Task DownloadAsync(IPage member)
    {
        await member.GotoAsync(new Uri(shelf.Address, "/mine").ToString());
        var download = await member.RunAndWaitForDownloadAsync(
            () => member.GetByRole(AriaRole.Button, new() { Name = "Download Tied Kettles 1.0.0" }).ClickAsync());
        Assert.Null(await download.FailureAsync());
    }

    /// <summary>The shelf follows the provider's messages by itself; the page is looked at until it says so.</summary>
    private async Task SeesAsync(IPage member, string words) => await Waiting.UntilAsync(async () =>
    {
        await member.GotoAsync(new Uri(shelf.Address, "/mine").ToString());
        return (await member.GetByRole(AriaRole.Main).InnerTextAsync()).Contains(words, StringComparison.Ordinal);
    });

    private async Task PlayAsync(IPage maker, string button, bool exact = false)
    {
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/practice").ToString());
        await maker.GetByRole(AriaRole.Button, new() { Name = button, Exact = exact }).First.ClickAsync();
        await Assertions.Expect(maker.GetByRole(AriaRole.Status)).ToBeVisibleAsync();
    }
}
