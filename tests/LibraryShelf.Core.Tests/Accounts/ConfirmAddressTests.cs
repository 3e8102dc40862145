using System.Text.RegularExpressions;
using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Accounts.TempAccounts;

namespace LibraryShelf.Core.Tests.Accounts;

public sealed partial class ConfirmAddressTests
{
    private const string Moved = "wren@moved.example";

    private static async Task<AskAddressOutcome> AskAsync(TempShelf shelf, long person, string? email = Moved, string? address = "https://shelf.example")
    {
        await using var db = shelf.Open();
        return await new AskForAddress(db, shelf.Clock).RunAsync(person, email, address, default);
    }

    private static async Task<ConfirmAddressOutcome> AnswerAsync(TempShelf shelf, string token, bool isYes = true)
    {
        await using var db = shelf.Open();
        return await new ConfirmAddress(db, shelf.Clock).RunAsync(token, isYes, default);
    }

    private static async Task<AddressLook> LookAsync(TempShelf shelf, string token)
    {
        await using var db = shelf.Open();
        return await new LookAtAddress(db, shelf.Clock).RunAsync(token, default);
    }

    private static async Task<string> MailAsync(TempShelf shelf, string to)
    {
        await using var db = shelf.Open();
        return await db.Outbox.Where(m => m.To == to).OrderByDescending(m => m.Id).Select(m => m.Text).FirstAsync();
    }

    private static async Task<string> TokenAsync(TempShelf shelf, string to) => Token().Match(await MailAsync(shelf, to)).Groups[1].Value;

    private static async Task<long> PersonAsync(TempShelf shelf, string email = Wren)
    {
        await using var db = shelf.Open();
        return (await TestPeople.FindOrAddAsync(db, email, shelf.Clock.GetUtcNow())).Id;
    }

    /// <summary>Wren has asked; the tokens of the old and the new mailbox.</summary>
    private static async Task<(long Wren, string Old, string New)> AskedAsync(TempShelf shelf)
    {
        var wren = await PersonAsync(shelf);
        Assert.Equal(AskAddressOutcome.MailsOnTheirWay, await AskAsync(shelf, wren));
        return (wren, await TokenAsync(shelf, Wren), await TokenAsync(shelf, Moved));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Both_say_yes_in_either_order_and_the_address_changes_with_all_that_hangs_on_it(bool isOldFirst)
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (wren, old, fresh) = await AskedAsync(shelf);
        await shelf.AskAsync(); // a sign-in mail that waits in the old mailbox
        var (ticket, _) = await shelf.MailedAsync();
        await using (var before = shelf.Open())
            await new StartDevice(before, shelf.Clock).RunAsync(wren, "Firefox on Linux", null, default);
        var (first, second) = isOldFirst ? (old, fresh) : (fresh, old);
        Assert.IsType<ConfirmAddressOutcome.WaitsForOther>(await AnswerAsync(shelf, first));
        Assert.IsType<ConfirmAddressOutcome.WaitsForOther>(await AnswerAsync(shelf, first)); // twice is once
        Assert.Equal(AddressChangeState.SaidYes, (await LookAsync(shelf, first)).State);
        Assert.Equal(AddressChangeState.Open, (await LookAsync(shelf, second)).State);
        var stamp = await StampAsync(shelf, wren);
        Assert.IsType<ConfirmAddressOutcome.Changed>(await AnswerAsync(shelf, second));

        await using var db = shelf.Open();
        var person = await db.Users.SingleAsync();
        Assert.True(person is { Email: Moved, UserName: Moved, EmailConfirmed: true });
        Assert.Equal(("WREN@MOVED.EXAMPLE", "WREN@MOVED.EXAMPLE"), (person.NormalizedEmail, person.NormalizedUserName));
        Assert.NotEqual(stamp, person.SecurityStamp);
        Assert.NotNull((await db.Devices.SingleAsync()).EndedAt);
        Assert.Equal(TicketState.Used, Assert.IsType<SignInOutcome.LinkRefused>(await shelf.UseAsync(new SignInProof.Link(ticket))).State);
        foreach (var mailbox in new[] { Wren, Moved })
            Assert.Contains($"with {Moved}, and no more with {Wren}", await MailAsync(shelf, mailbox), StringComparison.Ordinal);
        foreach (var token in new[] { old, fresh })
        {
            Assert.Equal(AddressChangeState.Changed, (await LookAsync(shelf, token)).State);
            Assert.Equal(AddressChangeState.Changed, Assert.IsType<ConfirmAddressOutcome.LinkRefused>(await AnswerAsync(shelf, token, isYes: false)).State);
        }
        await shelf.AskAsync(Moved);
        Assert.Equal(wren, Assert.IsType<SignInOutcome.Done>(await shelf.UseAsync(new SignInProof.Link((await shelf.MailedAsync(Moved)).Token))).Person.Id);
    }

    [Theory]
    [InlineData(true, false)]
    [InlineData(false, false)]
    [InlineData(true, true)] // no is still heard after yes
    public async Task One_no_ends_it(bool isOld, bool saidYesBefore)
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (_, old, fresh) = await AskedAsync(shelf);
        var (mine, other) = isOld ? (old, fresh) : (fresh, old);
        if (saidYesBefore)
            await AnswerAsync(shelf, mine);
        Assert.IsType<ConfirmAddressOutcome.SaidNo>(await AnswerAsync(shelf, mine, isYes: false));
        Assert.Equal(AddressChangeState.Ended, Assert.IsType<ConfirmAddressOutcome.LinkRefused>(await AnswerAsync(shelf, other)).State);
        await using var db = shelf.Open();
        Assert.Equal(Wren, (await db.Users.SingleAsync()).Email);
    }

    [Fact]
    public async Task It_runs_out_after_a_day_whatever_one_has_said()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (_, old, fresh) = await AskedAsync(shelf);
        await AnswerAsync(shelf, old);
        shelf.Clock.Advance(AskForAddress.Works - TimeSpan.FromMilliseconds(1));
        Assert.Equal((AddressChangeState.Open, Moved), ((await LookAsync(shelf, fresh)).State, (await LookAsync(shelf, fresh)).NewEmail));
        shelf.Clock.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal((AddressChangeState.Expired, ""), ((await LookAsync(shelf, fresh)).State, (await LookAsync(shelf, fresh)).NewEmail));
        Assert.Equal(AddressChangeState.Expired, Assert.IsType<ConfirmAddressOutcome.LinkRefused>(await AnswerAsync(shelf, fresh)).State);
    }

    [Fact]
    public async Task A_later_wish_takes_the_place_of_the_one_that_waits()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (wren, old, fresh) = await AskedAsync(shelf);
        await AnswerAsync(shelf, old);
        Assert.Equal(AskAddressOutcome.MailsOnTheirWay, await AskAsync(shelf, wren, "wren@third.example"));
        Assert.Equal(AddressChangeState.Ended, (await LookAsync(shelf, fresh)).State);
        Assert.IsType<ConfirmAddressOutcome.WaitsForOther>(await AnswerAsync(shelf, await TokenAsync(shelf, "wren@third.example")));
    }

    [Fact]
    public async Task Anothers_address_is_answered_alike_on_the_page_and_only_its_mailbox_is_told()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await PersonAsync(shelf, Moved);
        var wren = await PersonAsync(shelf);
        Assert.Equal(AskAddressOutcome.MailsOnTheirWay, await AskAsync(shelf, wren, "WREN@moved.example"));
        var told = await MailAsync(shelf, "WREN@moved.example");
        Assert.Contains("has a place of its own", told, StringComparison.Ordinal);
        Assert.DoesNotContain(Wren, told, StringComparison.Ordinal);
        Assert.DoesNotContain("/address/", told, StringComparison.Ordinal);
        Assert.IsType<ConfirmAddressOutcome.WaitsForOther>(await AnswerAsync(shelf, await TokenAsync(shelf, Wren)));
        await using var db = shelf.Open();
        Assert.Equal(Wren, (await db.Users.SingleAsync(p => p.Id == wren)).Email);
    }

    [Fact]
    public async Task An_address_joined_with_ones_own_is_said_to_be_theirs()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (wren, other) = (await PersonAsync(shelf), await PersonAsync(shelf, Moved));
        await using var db = shelf.Open();
        await db.Users.Where(p => p.Id == other).ExecuteUpdateAsync(s => s.SetProperty(p => p.MergedIntoId, wren));
        await AskAsync(shelf, wren);
        Assert.Contains("It does so already", await MailAsync(shelf, Moved), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_address_that_was_taken_meanwhile_is_left_to_who_has_it()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (wren, old, fresh) = await AskedAsync(shelf);
        await AnswerAsync(shelf, old);
        await shelf.AskAsync(Moved);
        var (token, _) = await shelf.MailedAsync(Moved);
        Assert.IsType<SignInOutcome.Done>(await shelf.UseAsync(new SignInProof.Link(token)));
        Assert.IsType<ConfirmAddressOutcome.Taken>(await AnswerAsync(shelf, fresh));
        Assert.Equal(AddressChangeState.Ended, (await LookAsync(shelf, old)).State);
        await using var db = shelf.Open();
        Assert.Equal([Wren, Moved], await db.Users.OrderBy(p => p.Id).Select(p => p.Email).ToListAsync());
        Assert.Equal(wren, await db.Users.Where(p => p.Email == Wren).Select(p => p.Id).SingleAsync());
    }

    [Fact]
    public async Task Both_at_once_and_somebody_who_signs_in_with_it_at_that_moment_leave_one_owner()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (wren, old, fresh) = await AskedAsync(shelf);
        await shelf.AskAsync(Moved);
        var (token, _) = await shelf.MailedAsync(Moved);
        var answers = await Task.WhenAll(
            Task.Run(() => AnswerAsync(shelf, old)), Task.Run(() => AnswerAsync(shelf, fresh)),
            Task.Run(async () =>
            {
                await shelf.UseAsync(new SignInProof.Link(token));
                return (ConfirmAddressOutcome)new ConfirmAddressOutcome.SaidNo();
            }));
        await using var db = shelf.Open();
        var owner = await db.Users.SingleAsync(p => p.NormalizedEmail == "WREN@MOVED.EXAMPLE");
        Assert.Equal(answers.Any(a => a is ConfirmAddressOutcome.Changed), owner.Id == wren);
        Assert.Single(answers, a => a is ConfirmAddressOutcome.WaitsForOther);
    }

    [Fact]
    public async Task Five_wishes_an_hour_of_one_person_or_for_one_mailbox()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (wren, robin) = (await PersonAsync(shelf), await PersonAsync(shelf, "robin@post.example"));
        for (var i = 0; i < AskForAddress.MostAsks; i++)
            Assert.Equal(AskAddressOutcome.MailsOnTheirWay, await AskAsync(shelf, wren, i % 2 == 0 ? Moved : Moved.ToUpperInvariant()));
        Assert.Equal(AskAddressOutcome.TooOften, await AskAsync(shelf, wren, "wren@third.example"));
        Assert.Equal(AskAddressOutcome.TooOften, await AskAsync(shelf, robin));
        Assert.Equal(AskAddressOutcome.MailsOnTheirWay, await AskAsync(shelf, robin, "robin@moved.example"));
        shelf.Clock.Advance(AskForAddress.CountedOver);
        Assert.Equal(AskAddressOutcome.MailsOnTheirWay, await AskAsync(shelf, robin));
    }

    [Theory]
    [InlineData(null, AskAddressOutcome.NotAnAddress)]
    [InlineData("wren", AskAddressOutcome.NotAnAddress)]
    [InlineData("WREN@post.example", AskAddressOutcome.Same)]
    public async Task What_is_no_other_address_writes_nothing(string? typed, AskAddressOutcome outcome)
    {
        await using var shelf = await TempShelf.MakeAsync();
        Assert.Equal(outcome, await AskAsync(shelf, await PersonAsync(shelf), typed));
        await using var db = shelf.Open();
        Assert.Equal(0, await db.AddressChanges.CountAsync() + await db.Outbox.CountAsync());
    }

    [Fact]
    public async Task Without_a_sure_address_the_mails_name_the_path_alone()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await AskAsync(shelf, await PersonAsync(shelf), address: null);
        Assert.Matches("put this behind its address in the browser: /address/[A-Za-z0-9_-]{43}", await MailAsync(shelf, Moved));
    }

    [Fact]
    public async Task Wishes_are_forgotten_after_a_month()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (_, old, _) = await AskedAsync(shelf);
        await using var db = shelf.Open();
        shelf.Clock.Advance(SweepAddressChanges.Kept);
        Assert.Equal(0, await new SweepAddressChanges(db, shelf.Clock).RunAsync(default));
        shelf.Clock.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal(1, await new SweepAddressChanges(db, shelf.Clock).RunAsync(default));
        Assert.Equal(AddressChangeState.Unknown, (await LookAsync(shelf, old)).State);
        Assert.Equal(AddressChangeState.Unknown, Assert.IsType<ConfirmAddressOutcome.LinkRefused>(await AnswerAsync(shelf, old)).State);
    }

    private static async Task<string?> StampAsync(TempShelf shelf, long person)
    {
        await using var db = shelf.Open();
        return await db.Users.Where(p => p.Id == person).Select(p => p.SecurityStamp).SingleAsync();
    }

    [GeneratedRegex("/address/([A-Za-z0-9_-]{43})$", RegexOptions.Multiline, 1000)]
    private static partial Regex Token();

    [Theory]
    [InlineData(true, true)]
    [InlineData(false, false)] // neither ever said yes to the library
    public async Task What_the_old_address_follows_the_new_one_follows_also_where_it_was_asked_before(bool isConfirmed, bool follows)
    {
        await using var shelf = await TempShelf.MakeAsync();
        var (_, old, fresh) = await AskedAsync(shelf);
        await using (var db = shelf.Open())
        {
            var library = new LibraryShelf.Core.Catalog.Library { Slug = "kettle", Title = "Kettle" };
            db.Add(library);
            await db.SaveChangesAsync();
            DateTimeOffset? yes = isConfirmed ? DateTimeOffset.UnixEpoch : null;
            db.AddRange(
                new LibraryShelf.Core.Mail.Follower { LibraryId = library.Id, Email = Wren, NormalizedEmail = EmailAddress.Normalize(Wren), Key = "old", ConfirmedAt = yes },
                new LibraryShelf.Core.Mail.Follower { LibraryId = library.Id, Email = Moved, NormalizedEmail = EmailAddress.Normalize(Moved), Key = "new" });
            await db.SaveChangesAsync();
        }
        await AnswerAsync(shelf, old);
        Assert.IsType<ConfirmAddressOutcome.Changed>(await AnswerAsync(shelf, fresh));
        await using var after = shelf.Open();
        var left = await after.Followers.SingleAsync();
        Assert.Equal((Moved, follows), (left.Email, left.ConfirmedAt is not null));
    }
}
