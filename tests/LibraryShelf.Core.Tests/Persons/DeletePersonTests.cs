using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests.Payments;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Persons;

/// <summary>What is left of somebody who wanted to be deleted: looked for in every column of the database.</summary>
public sealed class DeletePersonTests
{
    private static readonly string[] Traces = [PersonsShelf.WrenEmail, $"{PersonsShelf.Wren}"];

    /// <summary>As docs/privacy.md says: what tax and contract law may ask for stays, under a number.</summary>
    private static readonly string[] Kept =
    [
        "AspNetUsers.Id", "AspNetUsers.NormalizedUserName", "AspNetUsers.UserName", "Deletions.PersonId", "Joinings.PersonId", "MonthCreditLines.PersonId",
        "PaidMemberships.PersonId", "Payments.PersonId",
    ];

    [Fact]
    public async Task Without_a_payment_nothing_in_the_database_names_them_any_more()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.FillAsync(PersonsShelf.Robin, PersonsShelf.RobinEmail);
        string[] robin = [PersonsShelf.RobinEmail, $"{PersonsShelf.Robin}"];
        var robinBefore = await shelf.WhereAsync(robin);
        Assert.Contains("Downloads.PersonId", await shelf.WhereAsync(Traces)); // the search finds
        var gone = Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(await shelf.AskToDeleteAsync()));
        Assert.Equal((PersonsShelf.Wren, null), (gone.PersonId, gone.KeptUntil));
        Assert.Equal(["Deletions.PersonId", "Outbox.To"], await shelf.WhereAsync(Traces));
        await SendAsync(shelf);
        Assert.Equal(["Deletions.PersonId"], await shelf.WhereAsync(Traces));
        Assert.Equal(robinBefore, await shelf.WhereAsync(robin));
        Assert.Empty(shelf.Paying.Provider.Wishes);
    }

    [Fact]
    public async Task With_payments_what_the_law_asks_for_stays_under_a_number_and_the_rest_goes()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        await shelf.Paying.StartAsync(PersonsShelf.WrenEmail, personId: null); // led to no payment
        var gone = Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(await shelf.AskToDeleteAsync()));
        // Paid in November 2026; ten whole years after the end of that year.
        Assert.Equal(new DateTimeOffset(2037, 1, 1, 0, 0, 0, TimeSpan.Zero), gone.KeptUntil);
        Assert.Equal(["end sub_1"], shelf.Paying.Provider.Wishes);
        Assert.NotNull((await shelf.Paying.MembershipAsync()).EndedAt);
        Assert.Equal("deleted", await shelf.Paying.MailsAsync());
        await SendAsync(shelf);
        Assert.Equal(Kept, await shelf.WhereAsync(Traces));
        var joining = await shelf.AskAsync(db => db.Joinings.SingleAsync());
        Assert.Equal(("", "", "Begin at once."), (joining.Email, joining.NormalizedEmail, joining.ConsentWords));
        var person = await shelf.AskAsync(db => db.Users.SingleAsync(p => p.Id == PersonsShelf.Wren));
        Assert.Equal((shelf.Paying.Now, null, null, false), (person.DeletedAt!.Value, person.Email, person.PasswordHash, person.EmailConfirmed));
    }

    [Fact]
    public async Task The_way_back_from_the_payment_page_leads_nowhere_any_more()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        var back = await shelf.Paying.PayAsync(PersonsShelf.WrenEmail, PersonsShelf.Wren);
        await shelf.Paying.FinishAsync(back);
        Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(await shelf.AskToDeleteAsync()));
        Assert.IsType<FinishOutcome.NoSuchJoining>(await shelf.Paying.FinishAsync(back));
    }

    [Fact]
    public async Task An_address_changed_away_from_long_ago_stands_nowhere_after_the_deletion()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        var (clock, now) = (shelf.Paying.Clock, shelf.Paying.Now);
        await shelf.AskAsync(db =>
        {
            db.AddRange(
                new OutboxMail { Cause = "welcome:1", To = PersonsShelf.WrenEmail.ToLowerInvariant(), Subject = "Welcome", SentAt = now, CreatedAt = now },
                new Alert { Kind = AlertKind.MailNotSent, Words = $"A mail could not be sent: to {PersonsShelf.WrenEmail}.", RaisedAt = now, LastSeenAt = now, Times = 1 },
                new SignInTicket { Purpose = SignInPurpose.SignIn, Email = PersonsShelf.WrenEmail, NormalizedEmail = EmailAddress.Normalize(PersonsShelf.WrenEmail), TokenHash = "t", CreatedAt = now, ExpiresAt = now.AddHours(1) });
            return db.SaveChangesAsync();
        });
        await shelf.AskAsync(db => new AskForAddress(db, clock).RunAsync(PersonsShelf.Wren, "plover@moved.example", PayingShelf.Address, default));
        foreach (var mail in await shelf.AskAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("address:")).OrderBy(m => m.Id).ToListAsync()))
            await shelf.AskAsync(db => new ConfirmAddress(db, clock).RunAsync(mail.Text.Split("/address/")[1][..43], isYes: true, default));
        await SendAsync(shelf);
        clock.Advance(SweepAddressChanges.Kept + TimeSpan.FromSeconds(1));
        Assert.Equal(1, await shelf.AskAsync(db => new SweepAddressChanges(db, clock).RunAsync(default)));
        Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(await shelf.AskToDeleteAsync()));
        await SendAsync(shelf);
        Assert.Empty(await shelf.WhereAsync(PersonsShelf.WrenEmail, "plover@moved.example"));
    }

    [Fact]
    public async Task Downloads_go_on_being_counted_and_links_close()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.DeleteAsync(await shelf.AskToDeleteAsync());
        var download = await shelf.AskAsync(db => db.Downloads.SingleAsync());
        Assert.Equal((null, shelf.Paying.Now, shelf.Paying.Now), (download.PersonId, download.StartedAt!.Value, download.RevokedAt!.Value));
        Assert.Equal("It hums.", (await shelf.AskAsync(db => db.FaultReports.SingleAsync())).Words);
    }

    [Theory, InlineData(true), InlineData(false)]
    public async Task With_the_provider_away_nothing_is_deleted_and_the_link_works_again(bool isAway)
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        var token = await shelf.AskToDeleteAsync();
        var before = await shelf.WhereAsync(Traces);
        (shelf.Paying.Provider.IsAway, shelf.Paying.Provider.Refuses) = (isAway, "end");
        Assert.IsType<DeleteOutcome.Unreachable>(await shelf.DeleteAsync(token));
        Assert.Equal(before, await shelf.WhereAsync(Traces));
        (shelf.Paying.Provider.IsAway, shelf.Paying.Provider.Refuses) = (false, null);
        Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(token));
        Assert.Equal(TicketState.Unknown, Assert.IsType<DeleteOutcome.LinkRefused>(await shelf.DeleteAsync(token)).State);
    }

    [Fact]
    public async Task What_was_paid_a_moment_ago_without_the_shelf_knowing_ends_too()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.Paying.PayAsync(PersonsShelf.WrenEmail, PersonsShelf.Wren);
        Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(await shelf.AskToDeleteAsync()));
        Assert.Equal(["end sub_1"], shelf.Paying.Provider.Wishes);
    }

    [Fact]
    public async Task What_the_provider_says_afterwards_brings_nobody_back_and_writes_to_nobody()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        await shelf.DeleteAsync(await shelf.AskToDeleteAsync());
        shelf.Paying.Clock.Advance(TimeSpan.FromHours(1));
        shelf.Paying.Provider.Happens("sub_1", m => m.With("in_sub_1_0", p => p with { RefundedMinor = 100, RefundedAt = shelf.Paying.Now }));
        Assert.Equal(LookOutcome.Kept, await shelf.Paying.LookAsync("sub_1"));
        Assert.Equal(1, (await shelf.Paying.ReconcileAsync()).LookedAt);
        Assert.Equal(("deleted", ""), (await shelf.Paying.MailsAsync(), await shelf.Paying.MonthsAsync()));
        Assert.Equal(100, (await shelf.AskAsync(db => db.Payments.SingleAsync())).RefundedMinor);
        Assert.Equal([PersonsShelf.Wren, PersonsShelf.Robin], await shelf.AskAsync(db => db.Users.OrderBy(p => p.Id).Select(p => p.Id).ToListAsync()));
    }

    [Fact]
    public async Task Kept_payments_go_when_their_years_are_over_and_the_provider_s_memory_brings_nobody_back()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        await shelf.PayAsync(PersonsShelf.Robin, PersonsShelf.RobinEmail, "sub_2");
        await shelf.DeleteAsync(await shelf.AskToDeleteAsync());
        await SendAsync(shelf);
        shelf.Paying.Clock.SetUtcNow(new DateTimeOffset(2036, 12, 31, 23, 59, 59, TimeSpan.Zero));
        Assert.Equal(0, await shelf.SweepAsync());
        shelf.Paying.Clock.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(1, await shelf.SweepAsync());
        Assert.Equal(["Deletions.PersonId"], await shelf.WhereAsync(Traces));
        Assert.Equal(LookOutcome.NobodysOurs, await shelf.Paying.LookAsync("sub_1"));
        await shelf.Paying.ReconcileAsync();
        Assert.Equal(["Deletions.PersonId"], await shelf.WhereAsync(Traces));
        Assert.Equal(PersonsShelf.Robin, (await shelf.AskAsync(db => db.Payments.SingleAsync())).PersonId);
    }

    [Fact]
    public async Task A_page_still_open_that_writes_after_them_leaves_no_trace_for_longer_than_a_day()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.DeleteAsync(await shelf.AskToDeleteAsync());
        await SendAsync(shelf);
        await shelf.AskAsync(db =>
        {
            db.Downloads.Add(new() { Id = "late", PersonId = PersonsShelf.Wren });
            return db.SaveChangesAsync();
        });
        await shelf.SweepAsync();
        Assert.Equal(["Deletions.PersonId"], await shelf.WhereAsync(Traces));
    }

    [Fact]
    public async Task The_maker_stays_and_a_link_is_good_for_a_day()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        var token = await shelf.AskToDeleteAsync();
        shelf.Paying.Clock.Advance(AskToDelete.Works);
        Assert.Equal(TicketState.Expired, Assert.IsType<DeleteOutcome.LinkRefused>(await shelf.DeleteAsync(token)).State);
        Assert.Equal(TicketState.Unknown, Assert.IsType<DeleteOutcome.LinkRefused>(await shelf.DeleteAsync("nonsense")).State);
        token = await shelf.AskToDeleteAsync();
        await shelf.AskAsync(db => db.Users.Where(p => p.Id == PersonsShelf.Wren).ExecuteUpdateAsync(s => s.SetProperty(p => p.IsMaker, true)));
        Assert.IsType<DeleteOutcome.IsMaker>(await shelf.DeleteAsync(token));
        Assert.Equal(AskToDeleteOutcome.IsMaker, await shelf.AskAsync(db => new AskToDelete(db, shelf.Paying.Clock).RunAsync(PersonsShelf.Wren, null, default)));
    }

    [Fact]
    public async Task Somebody_deleted_starts_anew_when_they_come_back()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        await shelf.DeleteAsync(await shelf.AskToDeleteAsync());
        await shelf.Paying.FinishAsync(await shelf.Paying.PayAsync(PersonsShelf.WrenEmail, personId: null, "sub_9"));
        var anew = await shelf.AskAsync(db => db.Users.SingleAsync(p => p.NormalizedEmail == EmailAddress.Normalize(PersonsShelf.WrenEmail)));
        Assert.NotEqual(PersonsShelf.Wren, anew.Id);
        Assert.Equal(anew.Id, (await shelf.Paying.MembershipAsync("sub_9")).PersonId);
    }

    private static Task<OutboxRound> SendAsync(PersonsShelf shelf) => shelf.AskAsync(db => new SendOutbox(
        db, new SilentMailer(), shelf.Paying.Clock, Options.Create(new ShelfSettings()), NullLogger<SendOutbox>.Instance).RunAsync(default));

    private sealed class SilentMailer : IMailer
    {
        public Task SendAsync(MailToSend mail, CancellationToken cancellationToken) => Task.CompletedTask;
    }
}
