using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Accounts.TempAccounts;

namespace LibraryShelf.Core.Tests.Accounts;

public sealed class UseSignInTests
{
    /// <summary>Coming back from the payment page signs a new address in before its mailbox was proved.</summary>
    [Fact]
    public async Task The_first_sign_in_by_mail_ends_what_was_signed_in_before_and_later_ones_do_not()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            db.Users.Add(People.New(Wren, shelf.Clock.GetUtcNow()));
            await db.SaveChangesAsync();
            await new StartDevice(db, shelf.Clock).RunAsync(await db.Users.Select(p => p.Id).SingleAsync(), "Firefox on Linux", null, default);
        }
        var before = await StandingAsync(shelf);
        await SignInAsync(shelf);
        var after = await StandingAsync(shelf);
        Assert.NotEqual(before.Stamp, after.Stamp);
        Assert.Equal((1, 0), (before.Devices, after.Devices));
        await SignInAsync(shelf);
        Assert.Equal(after, await StandingAsync(shelf));
    }

    private static async Task SignInAsync(TempShelf shelf)
    {
        await shelf.AskAsync();
        var done = Assert.IsType<SignInOutcome.Done>(await shelf.UseAsync(new SignInProof.Link((await shelf.MailedAsync()).Token)));
        // The cookie to come carries the stamp that stands.
        Assert.Equal((await StandingAsync(shelf)).Stamp, done.Person.SecurityStamp);
    }

    private static async Task<(string? Stamp, int Devices)> StandingAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return (await db.Users.Select(p => p.SecurityStamp).SingleAsync(), await db.Devices.CountAsync(d => d.EndedAt == null));
    }

    [Fact]
    public async Task Of_many_presses_at_once_exactly_one_signs_in_and_one_person_is_made()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        var (token, code) = await shelf.MailedAsync();
        var presses = Enumerable.Range(0, 12).Select(i => Task.Run(() =>
            shelf.UseAsync(i % 2 == 0 ? new SignInProof.Link(token) : new SignInProof.Code(Wren, code))));
        var outcomes = await Task.WhenAll(presses);
        Assert.Single(outcomes, o => o is SignInOutcome.Done);
        await using var db = shelf.Open();
        var person = await db.Users.SingleAsync();
        Assert.True(person is { Email: Wren, EmailConfirmed: true, IsMaker: false, PasswordHash: null });
    }

    [Fact]
    public async Task After_five_wrong_codes_the_right_one_is_refused_and_the_link_still_works()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        var (token, code) = await shelf.MailedAsync();
        for (var i = 0; i < SignInTicket.MostWrongCodes; i++)
            Assert.IsType<SignInOutcome.CodeRefused>(await shelf.UseAsync(new SignInProof.Code(Wren, "2222-2222")));
        Assert.IsType<SignInOutcome.CodeRefused>(await shelf.UseAsync(new SignInProof.Code(Wren, code)));
        Assert.IsType<SignInOutcome.Done>(await shelf.UseAsync(new SignInProof.Link(token)));
    }

    [Fact]
    public async Task Four_wrong_codes_leave_one_try()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        var (_, code) = await shelf.MailedAsync();
        for (var i = 0; i < SignInTicket.MostWrongCodes - 1; i++)
            await shelf.UseAsync(new SignInProof.Code(Wren, "2222-2222"));
        Assert.IsType<SignInOutcome.Done>(await shelf.UseAsync(new SignInProof.Code(Wren, code)));
    }

    [Fact]
    public async Task Guesses_at_once_get_no_more_tries_than_one_by_one()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        await Task.WhenAll(Enumerable.Range(0, 20).Select(_ => Task.Run(() => shelf.UseAsync(new SignInProof.Code(Wren, "2222-2222")))));
        await using var db = shelf.Open();
        Assert.Equal(SignInTicket.MostWrongCodes, (await db.SignInTickets.SingleAsync()).WrongCodes);
    }

    [Fact]
    public async Task A_code_belongs_to_its_address_and_any_of_its_open_mails()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        var (_, first) = await shelf.MailedAsync();
        await shelf.AskAsync();
        await shelf.AskAsync("newt@post.example");
        Assert.IsType<SignInOutcome.CodeRefused>(await shelf.UseAsync(new SignInProof.Code("newt@post.example", first)));
        Assert.IsType<SignInOutcome.Done>(await shelf.UseAsync(new SignInProof.Code(Wren, first)));
    }

    [Theory]
    [InlineData(0, TicketState.Open)]
    [InlineData(30, TicketState.Expired)]
    public async Task Looking_tells_the_state_and_changes_nothing(int minutesLater, TicketState expected)
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        var (token, _) = await shelf.MailedAsync();
        shelf.Clock.Advance(TimeSpan.FromMinutes(minutesLater));
        await using var db = shelf.Open();
        var look = await new LookAtTicket(db, shelf.Clock).RunAsync(token, SignInPurpose.SignIn, CancellationToken.None);
        Assert.Equal(expected, look.State);
        Assert.Null((await db.SignInTickets.SingleAsync()).UsedAt);
        // A sign-in link claims no shelf.
        Assert.Equal(TicketState.Unknown, (await new LookAtTicket(db, shelf.Clock).RunAsync(token, SignInPurpose.ClaimShelf, CancellationToken.None)).State);
    }

    [Fact]
    public async Task Signing_in_again_finds_the_same_person()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var ids = new List<long>();
        foreach (var email in new[] { Wren, "WREN@Post.example" })
        {
            await shelf.AskAsync(email);
            var (token, _) = await shelf.MailedAsync(email);
            ids.Add(Assert.IsType<SignInOutcome.Done>(await shelf.UseAsync(new SignInProof.Link(token))).Person.Id);
        }
        Assert.Single(ids.Distinct());
    }
}
