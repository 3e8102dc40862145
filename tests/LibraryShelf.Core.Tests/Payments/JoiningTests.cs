using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>Pressing Join, and coming back from the payment page.</summary>
public sealed class JoiningTests
{
    [Fact]
    public async Task What_was_agreed_to_is_kept_in_the_words_shown_and_mailed()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var token = await shelf.PayAsync(" Wren@Post.example ");
        var joining = await shelf.AskAsync(db => db.Joinings.SingleAsync());
        Assert.Equal(
            ("Wren@Post.example", "Begin at once.", "Go on to pay", "1 May 2026", shelf.Now),
            (joining.Email, joining.ConsentWords, joining.ButtonWords, joining.TermsVersion, joining.AgreedAt));
        Assert.DoesNotContain(token, joining.TokenHash, StringComparison.Ordinal);
        Assert.IsType<FinishOutcome.Joined>(await shelf.FinishAsync(token));
        var mail = await shelf.TextAsync("joined:");
        Assert.Contains("you agreed to this: “Begin at once.”", mail, StringComparison.Ordinal);
        Assert.Contains("The terms were those of 1 May 2026.", mail, StringComparison.Ordinal);
        Assert.Contains("https://shelf.example/leave/", mail, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_price_is_made_once_and_remembered_with_the_plan()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.StartAsync();
        Assert.Equal($"price_{shelf.PlanId}", shelf.Provider.Wish!.PriceId);
        Assert.Equal(shelf.Provider.Wish.PriceId, (await shelf.AskAsync(db => db.Plans.SingleAsync(p => p.Id == shelf.PlanId))).ProviderId);
        Assert.Null(shelf.Provider.Wish.CustomerId);
    }

    [Fact]
    public async Task What_cannot_be_is_refused_and_nothing_is_written()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        Assert.Equal(JoinRefusal.NotAnAddress, Refusal(await shelf.StartAsync("wren at post")));
        Assert.Equal(JoinRefusal.NotAgreed, Refusal(await shelf.StartAsync(agrees: false)));
        Assert.Equal(JoinRefusal.ChangedMeanwhile, Refusal(await shelf.StartAsync(consent: "Begin at last.")));
        Assert.Equal(JoinRefusal.ChangedMeanwhile, Refusal(await shelf.StartAsync(planId: 99)));
        shelf.Provider.IsOpen = false;
        Assert.Equal(JoinRefusal.Closed, Refusal(await shelf.StartAsync()));
        Assert.Equal(0, await shelf.AskAsync(db => db.Joinings.CountAsync()));
    }

    [Fact]
    public async Task A_plan_that_was_closed_is_not_offered()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.AskAsync(db => db.Plans.ExecuteUpdateAsync(s => s.SetProperty(p => p.ClosedAt, shelf.Now)));
        Assert.Equal(JoinRefusal.ChangedMeanwhile, Refusal(await shelf.StartAsync()));
    }

    [Fact]
    public async Task A_member_signed_in_does_not_join_twice_and_one_who_leaves_may_join_again_as_the_same_customer()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.FinishAsync(await shelf.PayAsync());
        var wren = (await shelf.MembershipAsync()).PersonId;
        Assert.Equal(JoinRefusal.IsMember, Refusal(await shelf.StartAsync(personId: wren)));
        await shelf.LeaveAsync(new Leaver.SignedIn(wren));
        Assert.IsType<JoinOutcome.GoAndPay>(await shelf.StartAsync("other@post.example", wren));
        Assert.Equal(("wren@post.example", "cus_sub_1"), (shelf.Provider.Wish!.Email, shelf.Provider.Wish.CustomerId));
    }

    [Fact]
    public async Task With_the_provider_away_the_words_say_so()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.IsAway = true;
        Assert.IsType<JoinOutcome.Unreachable>(await shelf.StartAsync());
    }

    [Fact]
    public async Task An_address_new_to_the_shelf_is_signed_in_once()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var token = await shelf.PayAsync();
        var signIn = Assert.IsType<FinishOutcome.Joined>(await shelf.FinishAsync(token)).SignIn;
        Assert.Equal(("wren@post.example", false), (signIn!.Email, signIn.EmailConfirmed));
        Assert.Null(Assert.IsType<FinishOutcome.Joined>(await shelf.FinishAsync(token)).SignIn);
    }

    [Fact]
    public async Task Coming_back_in_two_tabs_at_once_signs_in_once()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var token = await shelf.PayAsync();
        var outcomes = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => Task.Run(() => shelf.FinishAsync(token))));
        Assert.Single(outcomes, o => o is FinishOutcome.Joined { SignIn: not null });
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_known_address_is_never_signed_in_by_paying(bool isMaker)
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.AskAsync(async db =>
        {
            var known = People.New("wren@post.example", shelf.Now);
            known.IsMaker = isMaker;
            db.Users.Add(known);
            return await db.SaveChangesAsync();
        });
        Assert.Null(Assert.IsType<FinishOutcome.Joined>(await shelf.FinishAsync(await shelf.PayAsync("WREN@post.example"))).SignIn);
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    [Fact]
    public async Task Who_proved_the_mailbox_meanwhile_is_not_signed_in_by_the_page()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var token = await shelf.PayAsync();
        await shelf.LookAsync("sub_1"); // the message was faster
        await shelf.AskAsync(db => db.Users.ExecuteUpdateAsync(s => s.SetProperty(p => p.EmailConfirmed, true)));
        Assert.Null(Assert.IsType<FinishOutcome.Joined>(await shelf.FinishAsync(token)).SignIn);
    }

    [Fact]
    public async Task Once_it_has_ended_the_way_back_says_so_and_signs_nobody_in()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var token = await shelf.PayAsync();
        shelf.Provider.Happens("sub_1", m => m with { EndedAt = shelf.Now });
        Assert.IsType<FinishOutcome.Over>(await shelf.FinishAsync(token));
        Assert.Null(await shelf.AskAsync(db => db.Joinings.Select(j => j.SignedInAt).SingleAsync()));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Whoever_was_deleted_or_joined_with_another_is_not_signed_in(bool isDeleted)
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var token = await shelf.PayAsync();
        await shelf.LookAsync("sub_1");
        await shelf.AskAsync(async db =>
        {
            var wren = await db.Users.SingleAsync();
            var tern = People.New("tern@post.example", shelf.Now);
            db.Users.Add(tern);
            await db.SaveChangesAsync();
            if (isDeleted)
                People.Empty(wren, shelf.Now);
            else
                wren.MergedIntoId = tern.Id;
            return await db.SaveChangesAsync();
        });
        var outcome = await shelf.FinishAsync(token);
        if (isDeleted)
            Assert.IsType<FinishOutcome.Over>(outcome);
        else
            Assert.Null(Assert.IsType<FinishOutcome.Joined>(outcome).SignIn);
    }

    [Fact]
    public async Task Joined_signed_in_it_is_that_persons_whatever_address_the_provider_has()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var tern = People.New("tern@post.example", shelf.Now);
        await shelf.AskAsync(db => { db.Users.Add(tern); return db.SaveChangesAsync(); });
        var token = await shelf.PayAsync("x", tern.Id);
        shelf.Provider.Happens("sub_1", m => m with { Email = "elsewhere@post.example" });
        Assert.Null(Assert.IsType<FinishOutcome.Joined>(await shelf.FinishAsync(token)).SignIn);
        Assert.Equal(tern.Id, (await shelf.MembershipAsync()).PersonId);
    }

    [Fact]
    public async Task Not_paid_or_not_asked_or_not_there()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        Assert.IsType<FinishOutcome.NoSuchJoining>(await shelf.FinishAsync("nonsense"));
        await shelf.StartAsync();
        var token = shelf.Provider.Wish!.Done.Segments[^1];
        Assert.NotNull(Assert.IsType<FinishOutcome.NotPaid>(await shelf.FinishAsync(token)).Page);
        shelf.Provider.IsAway = true;
        Assert.IsType<FinishOutcome.Later>(await shelf.FinishAsync(token));
    }

    [Fact]
    public async Task Paid_but_not_written_down_by_the_provider_yet_is_later()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var token = await shelf.PayAsync();
        shelf.Provider.Happens("sub_1", m => m with { Payments = [] });
        Assert.IsType<FinishOutcome.Later>(await shelf.FinishAsync(token));
    }

    private static JoinRefusal Refusal(JoinOutcome outcome) => Assert.IsType<JoinOutcome.Refused>(outcome).Why;
}
