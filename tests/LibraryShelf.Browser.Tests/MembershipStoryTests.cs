using Microsoft.EntityFrameworkCore;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// A member's whole life in Chromium, in practice mode: joins, downloads the month's library, fails a renewal, is in grace, recovers, leaves, still
/// downloads what was paid for, moves to another address and is deleted. The member is on a phone; each page on the way holds to <see cref="Sight"/>.
/// </summary>
public sealed class MembershipStoryTests(PracticeShelf practice) : IClassFixture<PracticeShelf>
{
    private const string Email = "dunlin@post.example";
    private readonly RunningShelf shelf = practice.Shelf;
    private readonly Sight sight = new();

    [Fact]
    public async Task A_member_joins_pays_fails_recovers_leaves_keeps_what_was_paid_for_moves_and_is_deleted()
    {
        var maker = await practice.MakerPageAsync();
        await Walk.PublishAsync(maker, shelf, "Tied Kettles", practice.Folder, "Members only");
        await OfferAsync(maker);

        await using var phone = await shelf.NewContextAsync(new() { ViewportSize = new() { Width = 390, Height = 844 } });
        await Sight.ComeWithAsync(phone);
        var member = await phone.NewPageAsync();
        await Failing.TellingAsync(shelf, member, () => LiveAsync(maker, member));
        await sight.HtmlIsWellAsync();
    }

    private async Task LiveAsync(IPage maker, IPage member)
    {
        await JoinAsync(member);
        await DownloadAsync(member);
        await sight.IsWellAsync(member, "mine-paying");
        await CardAsync(member);
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/practice").ToString());
        await sight.IsWellAsync(maker, "practice-bench");

        await PlayAsync(maker, "Let the next renewal fail");
        await PlayAsync(maker, "Let a month pass");
        await SeesAsync(member, "did not go through");
        await sight.IsWellAsync(member, "mine-in-grace");
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
        await FollowAsync(member);
        await MoveAndGoAsync(member);
    }

    /// <summary>The shelf leads on to the provider's page, here the stand-in's; while it may not ask the provider it says why.</summary>
    private async Task CardAsync(IPage member)
    {
        var card = new Uri(shelf.Address, "/mine/card").ToString();
        await ShelfRows.AddAsync(shelf, (db, now) => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, now)));
        await member.GotoAsync(card);
        await Assertions.Expect(member.GetByRole(AriaRole.Alert)).ToContainTextAsync("The payment provider’s page could not be opened.");
        await sight.IsWellAtBothAsync(member, "card-held");
        await ShelfRows.AddAsync(shelf, (db, _) => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, (DateTimeOffset?)null)));
        await member.GotoAsync(card);
        await Assertions.Expect(member.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Card and invoices, for practice");
        await sight.IsWellAtBothAsync(member, "card");
    }

    /// <summary>Signed in elsewhere or not: who follows is asked by mail first.</summary>
    private async Task FollowAsync(IPage member)
    {
        const string email = "knot@post.example";
        await using var elsewhere = await shelf.NewContextAsync(new() { ViewportSize = new() { Width = 390, Height = 844 } });
        var visitor = await elsewhere.NewPageAsync();
        await visitor.GotoAsync(new Uri(shelf.Address, "/boxes/tied-kettles/follow").ToString());
        await visitor.GetByLabel("Your e-mail address").FillAsync(email);
        await visitor.GetByRole(AriaRole.Button, new() { Name = "Hear of new versions" }).ClickAsync();
        await sight.IsWellAsync(visitor, "follow-asked");
        await visitor.GotoAsync(await Outbox.LinkAsync(shelf, email, "follow"));
        await sight.IsWellAsync(visitor, "follow");
        await visitor.GetByRole(AriaRole.Button, new() { Name = "Yes, write to me" }).ClickAsync();
        await Assertions.Expect(visitor.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You follow Tied Kettles");
        await sight.IsWellAsync(visitor, "following");
    }

    private async Task MoveAndGoAsync(IPage member)
    {
        const string newEmail = "dunlin@elsewhere.example";
        await member.GotoAsync(new Uri(shelf.Address, "/mine/address").ToString());
        await member.GetByLabel("Your new e-mail address").FillAsync(newEmail);
        await member.GetByRole(AriaRole.Button, new() { Name = "Send both mails" }).ClickAsync();
        await sight.IsWellAsync(member, "address-asked");
        foreach (var email in new[] { Email, newEmail })
        {
            await member.GotoAsync(await Outbox.LinkAsync(shelf, email, "address"));
            await sight.IsWellAsync(member, email == Email ? "address-old" : "address-new");
            await member.GetByRole(AriaRole.Button, new() { Name = "Yes, change it" }).ClickAsync();
        }

        await Assertions.Expect(member.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("Your address has changed");
        await sight.IsWellAsync(member, "address-changed");
        await member.GotoAsync(new Uri(shelf.Address, "/mine/delete").ToString());
        await sight.IsWellAsync(member, "delete-ask");
        await member.GetByRole(AriaRole.Button, new() { Name = "Send me the mail that deletes me" }).ClickAsync();
        await member.GotoAsync(await Outbox.LinkAsync(shelf, newEmail, "delete"));
        await sight.IsWellAsync(member, "delete");
        await member.GetByRole(AriaRole.Button, new() { Name = "Delete me for good" }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You are deleted");
        await sight.IsWellAsync(member, "deleted");
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
        await sight.IsWellAtBothAsync(member, "join", inAllLooks: true);
        await member.GetByLabel("Your e-mail address").FillAsync(Email);
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying €6.00" }).ClickAsync();
        // Not ticked: said beside the box, nothing lost.
        await Assertions.Expect(member.GetByRole(AriaRole.Alert)).ToContainTextAsync("Tick the box");
        await sight.IsWellAsync(member, "join-refused");
        await member.GetByLabel("Give me the boxes at once.").CheckAsync();
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying €6.00" }).ClickAsync();
        await sight.IsWellAsync(member, "checkout");
        await member.GetByLabel("is declined").CheckAsync();
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying" }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Alert)).ToContainTextAsync("declined");
        await member.GetByRole(AriaRole.Button, new() { Name = "Practise paying" }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You have joined");
        await sight.IsWellAsync(member, "joined");
        await member.GetByRole(AriaRole.Link, new() { Name = "See what is yours" }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Main)).ToContainTextAsync("You are a member");
    }

    private async Task LeaveAsync(IPage member)
    {
        await member.GotoAsync(new Uri(shelf.Address, "/leave").ToString());
        await sight.IsWellAsync(member, "leave");
        await member.GetByRole(AriaRole.Button, new() { Name = "Leave", Exact = true }).ClickAsync();
        await Assertions.Expect(member.GetByRole(AriaRole.Heading, new() { Level = 1 })).ToHaveTextAsync("You have left");
        await sight.IsWellAsync(member, "left");
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
