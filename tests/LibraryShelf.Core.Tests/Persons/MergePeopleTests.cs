using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Tests.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Persons;

public sealed class MergePeopleTests
{
    [Fact]
    public async Task Everything_of_the_one_is_the_other_s()
    {
        await using var shelf = await BothAsync();
        Assert.Equal(new MergeOutcome.Merged(PersonsShelf.Wren, PersonsShelf.WrenEmail), await shelf.MergeAsync());
        // The row that remembers the other address; the second credit of one month; mails about the merging and before it.
        Assert.Equal(["AspNetUsers.Id", "MonthCreditLines.PersonId", "Outbox.Cause"], await shelf.WhereAsync($"{PersonsShelf.Robin}"));
        var data = (await shelf.DataAsync(PersonsShelf.Wren))!.Tables.ToDictionary(t => t.Name, t => t.Rows.Count, StringComparer.Ordinal);
        Assert.Equal(
            (2, 2, 2, 2, 2, 2, 2, 2, 2),
            (data["memberships-given"], data["downloads"], data["faults"], data["joinings"], data["paid-memberships"], data["payments"], data["months"], data["credits"], data["lists"]));
        // Both had the same version early, and were told of the same withdrawal.
        Assert.Equal((1, 1, 1), (data["early-versions"], data["withdrawals"], data["devices"]));
        // Neither wanted mails about drops; a letter both were to get is sent once; both addresses follow and both mailboxes are closed.
        Assert.Equal((1, 1, 2, 2), (data["refused-mails"], await shelf.AskAsync(db => db.Outbox.CountAsync(m => m.Cause.StartsWith("version:"))), data["followed"], data["closed-mailboxes"]));
        Assert.Null(await shelf.DataAsync(PersonsShelf.Robin));
    }

    [Fact]
    public async Task Days_and_drops_that_counted_two_are_counted_again()
    {
        await using var shelf = await BothAsync();
        var at = new DateTimeOffset(2026, 7, 4, 9, 0, 0, TimeSpan.Zero);
        await shelf.AskAsync(async db =>
        {
            var id = await db.Downloads.Where(d => d.PersonId == PersonsShelf.Robin).Select(d => d.Id).FirstAsync();
            await db.DownloadTallies.Where(t => t.DownloadId == id).ExecuteDeleteAsync();
            db.DownloadTallies.Add(new DownloadTally { DownloadId = id, StartedAt = at });
            db.DayRolls.Add(new DayRoll { Day = new(2026, 7, 4), Changed = 3, Rolled = 3 });
            db.DropUptakes.Add(new DropUptake { DropId = 4_711, Changed = 2, Rolled = 2 });
            return await db.SaveChangesAsync();
        });
        await shelf.MergeAsync();
        Assert.Equal((4, 3), await shelf.AskAsync(async db => (await db.DayRolls.AsNoTracking().SingleAsync(r => r.Day == new NodaTime.LocalDate(2026, 7, 4))) is var roll ? ((int)roll.Changed, (int)roll.Rolled) : default));
        Assert.Equal(3, await shelf.AskAsync(db => db.DropUptakes.Where(u => u.DropId == 4_711).Select(u => u.Changed).SingleAsync()));
    }

    /// <summary>A cookie is looked at once a minute: whoever was merged a moment ago may still press as the account that was.</summary>
    [Theory]
    [InlineData("swept")]
    [InlineData("deleted")]
    [InlineData("merged again")]
    public async Task What_is_pressed_a_moment_after_as_the_other_is_the_one_s_whatever_comes_next(string next)
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.MergeAsync();
        var (at, day) = (new DateTimeOffset(2026, 7, 4, 9, 0, 0, TimeSpan.Zero), new NodaTime.LocalDate(2026, 7, 4));
        await shelf.AskAsync(async db =>
        {
            db.AddRange(
                new Download { Id = "late", ReleaseId = shelf.ReleaseId, LibraryId = 1, PersonId = PersonsShelf.Robin, Why = MayDownloadWhy.Free, MadeAt = at, StartedAt = at },
                new DownloadTally { DownloadId = "late", StartedAt = at, FinishedAt = at },
                new FaultReport { LibraryId = 1, ReleaseId = shelf.ReleaseId, PersonId = PersonsShelf.Robin, Words = "It hums.", ReportedAt = at },
                new DayRoll { Day = day, Changed = 3, Rolled = 3 }, new DropUptake { DropId = 4_711, Changed = 2, Rolled = 2 });
            await db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.SealedAt, at));
            await new GrantMembership(db, shelf.Paying.Clock).RunAsync("heron@post.example", "", null, null, default);
            return await db.SaveChangesAsync();
        });
        if (next == "swept") await shelf.SweepAsync();
        else if (next == "deleted") Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(await shelf.AskToDeleteAsync()));
        else Assert.IsType<MergeOutcome.Merged>(await shelf.MergeAsync("heron@post.example", PersonsShelf.WrenEmail));

        long? whose = next == "swept" ? PersonsShelf.Wren : next == "deleted" ? null : await shelf.AskAsync(db => db.Users.Where(p => p.Email == "heron@post.example").Select(p => p.Id).SingleAsync());
        Assert.Equal(whose, await shelf.AskAsync(db => db.Downloads.Where(d => d.Id == "late").Select(d => d.PersonId).SingleAsync()));
        Assert.Equal(whose, await shelf.AskAsync(db => db.FaultReports.Select(f => f.PersonId).SingleAsync()));
        // Two were counted who are one; deleting has nothing made anew.
        var marks = await shelf.AskAsync(async db => (await db.DayRolls.Where(r => r.Day == day).Select(r => r.Changed).SingleAsync(), await db.DropUptakes.Select(u => u.Changed).SingleAsync()));
        Assert.Equal(next == "deleted" ? (3, 2) : (4, 3), marks);
        await shelf.AskAsync(db => new RollUpVersions(db, shelf.Paying.Clock).RunAsync(default));
        Assert.Equal(next == "deleted" ? [] : [whose!.Value], await shelf.AskAsync(db => db.PersonVersions.Select(v => v.PersonId).ToListAsync()));
    }

    [Fact]
    public async Task A_month_both_paid_for_becomes_the_next_that_is_free()
    {
        await using var shelf = await BothAsync();
        Assert.Equal("2026-11 2026-11", await shelf.Paying.MonthsAsync());
        await shelf.MergeAsync();
        Assert.Equal("2026-11 2026-12", await shelf.Paying.MonthsAsync());
        Assert.Equal([PersonsShelf.Wren], await shelf.AskAsync(db => db.PaidMonths.Select(m => m.PersonId).Distinct().ToListAsync()));
        // And the provider's next word about either changes nothing of that.
        await shelf.Paying.LookAsync("sub_1");
        await shelf.Paying.LookAsync("sub_2");
        Assert.Equal("2026-11 2026-12", await shelf.Paying.MonthsAsync());
    }

    [Fact]
    public async Task The_other_address_signs_in_at_the_account_that_stays_and_its_cookies_end()
    {
        await using var shelf = await BothAsync();
        var stamp = await shelf.AskAsync(db => db.Users.Where(p => p.Id == PersonsShelf.Robin).Select(p => p.SecurityStamp).SingleAsync());
        await shelf.MergeAsync();
        Assert.NotEqual(stamp, await shelf.AskAsync(db => db.Users.Where(p => p.Id == PersonsShelf.Robin).Select(p => p.SecurityStamp).SingleAsync()));
        await shelf.AskAsync(db => new AskForSignIn(db, shelf.Paying.Clock, shelf.Paying.Settings).RunAsync(PersonsShelf.RobinEmail, PayingShelf.Address, "", default));
        var token = (await shelf.Paying.TextAsync("sign-in:")).Split("/sign-in/")[1][..43];
        var done = Assert.IsType<SignInOutcome.Done>(await shelf.AskAsync(db => new UseSignIn(db, shelf.Paying.Clock).RunAsync(new SignInProof.Link(token), default)));
        Assert.Equal(PersonsShelf.Wren, done.Person.Id);
    }

    [Fact]
    public async Task What_is_joined_or_given_by_the_other_address_comes_to_the_account_that_stays()
    {
        await using var shelf = await BothAsync();
        await shelf.MergeAsync();
        await shelf.Paying.FinishAsync(await shelf.Paying.PayAsync(PersonsShelf.RobinEmail, personId: null, "sub_9"));
        Assert.Equal(PersonsShelf.Wren, (await shelf.Paying.MembershipAsync("sub_9")).PersonId);
        // A page that was still open as the other joins as the account that stays, which is a member.
        var refused = Assert.IsType<JoinOutcome.Refused>(await shelf.Paying.StartAsync(email: null, PersonsShelf.Robin));
        Assert.Equal(JoinRefusal.IsMember, refused.Why);
    }

    [Fact]
    public async Task Merged_again_the_first_follows_and_deleting_takes_them_all()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.AskAsync(db => new GrantMembership(db, shelf.Paying.Clock).RunAsync("heron@post.example", "", null, null, default));
        await shelf.MergeAsync(PersonsShelf.RobinEmail, "heron@post.example");
        await shelf.MergeAsync();
        Assert.Equal([PersonsShelf.Wren, PersonsShelf.Wren], await shelf.AskAsync(db => db.Users.Where(p => p.MergedIntoId != null).Select(p => p.MergedIntoId!.Value).ToListAsync()));
        Assert.Equal(MergeRefusal.OneAlready, Assert.IsType<MergeOutcome.Refused>(await shelf.MergeAsync("heron@post.example", PersonsShelf.RobinEmail)).Why);
        Assert.IsType<DeleteOutcome.Deleted>(await shelf.DeleteAsync(await shelf.AskToDeleteAsync()));
        Assert.Empty(await shelf.WhereAsync("heron@post.example", PersonsShelf.RobinEmail));
    }

    [Fact]
    public async Task Nobody_unknown_nobody_deleted_never_the_maker_never_oneself()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        Assert.Equal(MergeRefusal.StaysUnknown, await RefusedAsync(shelf, "stranger@post.example", PersonsShelf.WrenEmail));
        Assert.Equal(MergeRefusal.JoinsUnknown, await RefusedAsync(shelf, PersonsShelf.WrenEmail, "no address"));
        Assert.Equal(MergeRefusal.OneAlready, await RefusedAsync(shelf, PersonsShelf.WrenEmail, PersonsShelf.WrenEmail.ToUpperInvariant()));
        await shelf.AskAsync(db => db.Users.Where(p => p.Id == PersonsShelf.Robin).ExecuteUpdateAsync(s => s.SetProperty(p => p.IsMaker, true)));
        Assert.Equal(MergeRefusal.IsMaker, await RefusedAsync(shelf, PersonsShelf.WrenEmail, PersonsShelf.RobinEmail));
        Assert.Equal(MergeRefusal.IsMaker, await RefusedAsync(shelf, PersonsShelf.RobinEmail, PersonsShelf.WrenEmail));
        await shelf.DeleteAsync(await shelf.AskToDeleteAsync());
        Assert.Equal(MergeRefusal.JoinsUnknown, await RefusedAsync(shelf, PersonsShelf.RobinEmail, PersonsShelf.WrenEmail));
    }

    [Fact]
    public async Task Both_are_written_to_and_the_first_press_shows_what_each_has()
    {
        await using var shelf = await BothAsync();
        var look = Assert.IsType<MergeLook.Possible>(await shelf.AskAsync(db => new LookAtMerging(db).RunAsync(PersonsShelf.WrenEmail, PersonsShelf.RobinEmail, default)));
        Assert.True(look.BothPay);
        Assert.Equal((1, 1, 1, 1, 1), (look.Joins.Paying, look.Joins.Payments, look.Joins.Months, look.Joins.Downloads, look.Joins.Faults));
        await shelf.MergeAsync();
        Assert.Equal(
            [PersonsShelf.WrenEmail, PersonsShelf.RobinEmail],
            await shelf.AskAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("merged:")).OrderBy(m => m.Id).Select(m => m.To).ToListAsync()));
    }

    private static async Task<PersonsShelf> BothAsync()
    {
        var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.FillAsync(PersonsShelf.Robin, PersonsShelf.RobinEmail);
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        await shelf.PayAsync(PersonsShelf.Robin, PersonsShelf.RobinEmail, "sub_2");
        return shelf;
    }

    private static async Task<MergeRefusal> RefusedAsync(PersonsShelf shelf, string stays, string joins)
    {
        var looked = Assert.IsType<MergeLook.Refused>(await shelf.AskAsync(db => new LookAtMerging(db).RunAsync(stays, joins, default)));
        var refused = Assert.IsType<MergeOutcome.Refused>(await shelf.MergeAsync(stays, joins));
        Assert.Equal(looked.Why, refused.Why);
        return refused.Why;
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_letter_one_of_them_had_does_not_come_again_to_the_other(bool didStayHaveIt)
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.FillAsync(PersonsShelf.Robin, PersonsShelf.RobinEmail);
        var had = didStayHaveIt ? PersonsShelf.Wren : PersonsShelf.Robin;
        await shelf.AskAsync(db => db.Outbox.Where(m => m.Cause.StartsWith("version:") && m.PersonId == had).ExecuteUpdateAsync(s => s.SetProperty(m => m.SentAt, shelf.Paying.Now)));
        await shelf.MergeAsync();
        var letter = await shelf.AskAsync(db => db.Outbox.AsNoTracking().SingleAsync(m => m.Cause.StartsWith("version:")));
        Assert.Equal((PersonsShelf.Wren, true), (letter.PersonId, letter.SentAt is not null));
        // What either address follows stands under the one account.
        Assert.Equal(2, (await shelf.AskAsync(db => new LibraryShelf.Core.Letters.ReadMyLetters(db).RunAsync(PersonsShelf.Wren, default)))!.Followed.Count);
    }
}
