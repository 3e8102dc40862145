using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Accounts.TempAccounts;

namespace LibraryShelf.Core.Tests.Accounts;

public sealed class AskForSignInTests
{
    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("wren")]
    [InlineData("Wren <wren@post.example>")]
    [InlineData("wren@post.example\r\nBcc: all@post.example")]
    public async Task What_is_no_address_writes_nothing(string? typed)
    {
        await using var shelf = await TempShelf.MakeAsync();
        Assert.Equal(AskOutcome.NotAnAddress, await shelf.AskAsync(typed));
        await using var db = shelf.Open();
        Assert.Equal(0, await db.SignInTickets.CountAsync() + await db.Outbox.CountAsync());
    }

    [Fact]
    public async Task Ticket_and_mail_are_written_together_or_not_at_all()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        // The next ticket's mail can't be written: its cause is taken.
        db.Outbox.Add(new() { Cause = "sign-in:1", To = Wren });
        await db.SaveChangesAsync();
        await Assert.ThrowsAnyAsync<DbUpdateException>(() => shelf.AskAsync());
        Assert.Equal(0, await db.SignInTickets.CountAsync());
    }

    [Fact]
    public async Task Neither_token_nor_code_stands_in_the_tickets()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        var (token, code) = await shelf.MailedAsync();
        await using var db = shelf.Open();
        var row = await db.SignInTickets.SingleAsync();
        var kept = $"{row.TokenHash} {row.CodeHash}";
        Assert.DoesNotContain(token, kept, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain(code.Replace("-", "", StringComparison.Ordinal), kept, StringComparison.OrdinalIgnoreCase);
        Assert.Equal(64, row.TokenHash.Length);
        Assert.Equal(64, row.CodeHash!.Length);
    }

    [Fact]
    public async Task An_address_is_mailed_five_times_an_hour_at_most()
    {
        await using var shelf = await TempShelf.MakeAsync();
        for (var i = 0; i < AskForSignIn.MostAsks; i++)
            Assert.Equal(AskOutcome.MailOnItsWay, await shelf.AskAsync(i % 2 == 0 ? Wren : Wren.ToUpperInvariant()));
        Assert.Equal(AskOutcome.TooOften, await shelf.AskAsync());
        Assert.Equal(AskOutcome.MailOnItsWay, await shelf.AskAsync("newt@post.example"));
        shelf.Clock.Advance(AskForSignIn.CountedOver);
        Assert.Equal(AskOutcome.MailOnItsWay, await shelf.AskAsync());
    }

    [Fact]
    public async Task Old_requests_are_forgotten_after_a_month()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await shelf.AskAsync();
        shelf.Clock.Advance(TimeSpan.FromDays(31));
        await shelf.AskAsync("newt@post.example");
        await using var db = shelf.Open();
        Assert.Equal("newt@post.example", (await db.SignInTickets.SingleAsync()).Email);
    }

    [Fact]
    public void Codes_hold_only_signs_that_are_told_apart()
    {
        var codes = Enumerable.Range(0, 400).Select(_ => Secrets.NewCode()).ToList();
        Assert.All(codes, code => Assert.Equal(8, code.Length));
        Assert.DoesNotContain(codes, code => code.Any(sign => "01ILOU".Contains(sign, StringComparison.Ordinal)));
        Assert.Equal(codes.Count, codes.Distinct().Count());
    }
}
