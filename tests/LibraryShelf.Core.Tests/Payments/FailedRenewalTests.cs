using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Payments;

public sealed class FailedRenewalTests
{
    [Fact]
    public async Task A_renewal_that_failed_is_written_down_once_and_with_when_it_was_paid_after_all()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.AskAsync(db => new KeepIncome(db, shelf.Clock).RunAsync(default));
        var start = shelf.Now;
        shelf.Provider.Begins(Told.Begun("sub_1", start));
        await shelf.LookAsync("sub_1");
        var due = start.AddMonths(1);
        shelf.Clock.SetUtcNow(due.AddHours(1));
        shelf.Provider.Happens("sub_1", m => m with { UnpaidSince = due });
        await shelf.LookAsync("sub_1");
        await shelf.LookAsync("sub_1");
        Assert.Equal(new(due, null), Assert.Single(await RowsAsync()));
        Assert.Equal("2026-11 0 0; 2026-12 1 0", await FiguresAsync());

        shelf.Clock.Advance(TimeSpan.FromDays(4));
        var paid = shelf.Now;
        shelf.Provider.Happens("sub_1", m => m.Paid(Told.Payment("in_2", due, paid: paid)) with { UnpaidSince = null });
        await shelf.LookAsync("sub_1");
        await shelf.LookAsync("sub_1");
        Assert.Equal(new(due, paid), Assert.Single(await RowsAsync()));
        Assert.Equal("2026-11 0 0; 2026-12 1 1", await FiguresAsync());

        async Task<List<(DateTimeOffset, DateTimeOffset?)>> RowsAsync() => (await shelf.AskAsync(db => db.FailedRenewals.AsNoTracking().ToListAsync())).ConvertAll(r => (r.Since, r.RecoveredAt));
        async Task<string> FiguresAsync() => string.Join("; ", (await shelf.AskAsync(db => new ReadMemberNumbers(db, shelf.Clock).RunAsync(null, null, default))).Months.Select(m => $"{m.Month:uuuu-MM} {m.Failed} {m.Recovered}"));
    }

    [Fact]
    public async Task The_makers_own_membership_is_no_members_and_neither_are_its_failures()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.AskAsync(db => new KeepIncome(db, shelf.Clock).RunAsync(default));
        await shelf.AskAsync(async db =>
        {
            foreach (var (name, isMaker) in new[] { ("maker", true), ("sedge", false) })
            {
                var person = LibraryShelf.Core.Accounts.People.New($"{name}@post.example", shelf.Now);
                person.IsMaker = isMaker;
                db.Users.Add(person);
                await db.SaveChangesAsync();
                var membership = new LibraryShelf.Core.Membership.PaidMembership { PersonId = person.Id, ProviderId = $"sub_{name}", StartedAt = shelf.Now.AddDays(-40), ActiveUntil = shelf.Now.AddDays(1) };
                db.PaidMemberships.Add(membership);
                await db.SaveChangesAsync();
                db.FailedRenewals.Add(new FailedRenewal { PaidMembershipId = membership.Id, Since = shelf.Now.AddDays(-1), RecoveredAt = isMaker ? shelf.Now : null });
            }
            return await db.SaveChangesAsync();
        });
        var month = (await shelf.AskAsync(db => new ReadMemberNumbers(db, shelf.Clock).RunAsync(null, null, default))).Months[^1];
        Assert.Equal((1, 0), (month.Failed, month.Recovered));
        var today = LocalDate.FromDateTime(shelf.Now.UtcDateTime);
        var moves = await shelf.AskAsync(db => new ReadMemberMoves(db, shelf.Clock).RunAsync(new(today.PlusDays(-7), today), default));
        Assert.Equal((1, 0), (moves.Failed, moves.Recovered));
    }

    [Fact]
    public async Task Given_up_and_paid_again_later_it_was_not_paid_after_all()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var start = shelf.Now;
        shelf.Provider.Begins(Told.Begun("sub_1", start));
        await shelf.LookAsync("sub_1");
        shelf.Clock.SetUtcNow(start.AddMonths(1).AddHours(1));
        shelf.Provider.Happens("sub_1", m => m with { UnpaidSince = start.AddMonths(1) });
        await shelf.LookAsync("sub_1");
        shelf.Clock.SetUtcNow(start.AddMonths(2).AddHours(1));
        shelf.Provider.Happens("sub_1", m => m.Paid(Told.Payment("in_3", start.AddMonths(2), paid: shelf.Now)) with { UnpaidSince = null });
        await shelf.LookAsync("sub_1");
        Assert.Null(Assert.Single(await shelf.AskAsync(db => db.FailedRenewals.AsNoTracking().ToListAsync())).RecoveredAt);
        // Of nobody who never failed is anything written.
        Assert.Equal(1, await shelf.AskAsync(db => db.FailedRenewals.CountAsync()));
    }
}
