using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

public sealed class ReconcileMembershipsTests
{
    [Fact]
    public async Task What_the_messages_missed_is_mended_and_told_until_it_is_over()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.KeepAsync(shelf.Message("evt_of_another"));
        shelf.Clock.Advance(TimeSpan.FromHours(2));
        Assert.Equal(new Reconciled(1, 1, false), await shelf.ReconcileAsync());
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        Assert.Contains("1 membership ", await StandingAsync(shelf, "missed"), StringComparison.Ordinal);
        Assert.Equal(new Reconciled(1, 0, false), await shelf.ReconcileAsync());
        Assert.Null(await StandingAsync(shelf, "missed"));
    }

    [Fact]
    public async Task Each_kind_of_change_is_found()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.LookAsync("sub_1");
        shelf.Clock.Advance(TimeSpan.FromDays(90));
        foreach (var change in new Func<ProviderMembership, ProviderMembership>[]
        {
            m => m.Paid(Told.Payment("in_2", m.StartedAt.AddMonths(1))),
            m => m with { IsPaused = true },
            m => m with { IsPaused = false },
            m => m.With("in_sub_1_0", p => p with { RefundedMinor = 900, RefundedAt = p.PaidAt }),
            m => m.With("in_2", p => p with { DisputeLostAt = p.PaidAt }),
            m => m with { LeavesAt = m.StartedAt.AddMonths(2) },
            m => m with { EndedAt = m.StartedAt.AddDays(3) },
        })
        {
            shelf.Provider.Happens("sub_1", change);
            Assert.Equal(1, (await shelf.ReconcileAsync()).Mended);
            Assert.Equal(0, (await shelf.ReconcileAsync()).Mended);
        }
    }

    [Fact]
    public async Task What_may_be_on_its_way_and_what_a_setting_changes_was_not_missed()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        Assert.Equal(new Reconciled(1, 0, false), await shelf.ReconcileAsync());
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        var until = (await shelf.MembershipAsync()).ActiveUntil;
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        shelf.Settings.Value.Membership.GraceDays = 9;
        Assert.Equal(0, (await shelf.ReconcileAsync()).Mended);
        Assert.Equal(until.AddDays(2), (await shelf.MembershipAsync()).ActiveUntil);
    }

    [Fact]
    public async Task What_else_the_maker_sells_there_opens_nothing_here()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now) with { IsOurs = false });
        Assert.Equal(LookOutcome.NobodysOurs, await shelf.LookAsync("sub_1"));
        Assert.Equal(0, await shelf.AskAsync(db => db.Users.CountAsync()));
        // What stands here already goes on being read, also when its price was taken off.
        shelf.Provider.Begins(Told.Begun("sub_2", shelf.Now));
        await shelf.LookAsync("sub_2");
        shelf.Provider.Happens("sub_2", m => m with { IsOurs = false, EndedAt = shelf.Now });
        Assert.Equal(LookOutcome.Kept, await shelf.LookAsync("sub_2"));
    }

    [Fact]
    public async Task Payments_without_any_message_for_days_are_silence()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        Assert.False((await shelf.ReconcileAsync()).IsSilent); // just paid: its message may be on the way
        shelf.Clock.Advance(TimeSpan.FromHours(2));
        Assert.True((await shelf.ReconcileAsync()).IsSilent);
        Assert.Contains("/hooks/payments", await StandingAsync(shelf, "silent"), StringComparison.Ordinal);
        await shelf.KeepAsync(shelf.Message("evt_1"));
        Assert.False((await shelf.ReconcileAsync()).IsSilent);
        Assert.Null(await StandingAsync(shelf, "silent"));
    }

    [Fact]
    public async Task A_quiet_shop_is_not_silent()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.LookAsync("sub_1");
        shelf.Clock.Advance(TimeSpan.FromDays(10));
        Assert.False((await shelf.ReconcileAsync()).IsSilent);
    }

    [Fact]
    public async Task A_joining_that_led_to_nothing_goes_after_thirty_days_and_the_proof_of_one_stays()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.PayAsync();
        await shelf.ReconcileAsync();
        await shelf.StartAsync("tern@post.example");
        shelf.Clock.Advance(TimeSpan.FromDays(30));
        await shelf.ReconcileAsync();
        Assert.Equal(2, await shelf.AskAsync(db => db.Joinings.CountAsync()));
        shelf.Clock.Advance(TimeSpan.FromSeconds(1));
        await shelf.ReconcileAsync();
        Assert.Equal("wren@post.example", await shelf.AskAsync(db => db.Joinings.Select(j => j.Email).SingleAsync()));
    }

    [Fact]
    public async Task Closed_or_away()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.IsAway = true;
        await Assert.ThrowsAsync<PaymentsUnreachableException>(shelf.ReconcileAsync);
        shelf.Provider.IsOpen = false;
        Assert.Equal(new Reconciled(0, 0, false), await shelf.ReconcileAsync());
    }

    [Fact]
    public async Task One_that_cannot_be_read_is_named_and_the_others_are_looked_at()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now, "knot@post.example"));
        shelf.Provider.Begins(Told.Begun("sub_2", shelf.Now));
        shelf.Provider.Garbled = "sub_1";
        var looked = await shelf.ReconcileAsync();
        Assert.Equal(1, looked.LookedAt);
        Assert.Contains("sub_1", looked.Unread, StringComparison.Ordinal);
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    [Fact]
    public void Of_many_that_cannot_be_read_three_are_named()
    {
        Assert.Null(UnreadWords.Of([]));
        Assert.Equal("a, b and c", UnreadWords.Of(["a", "b", "c"]));
        Assert.Equal("a, b, c and 2 more", UnreadWords.Of(["a", "b", "c", "d", "e"]));
    }

    private static Task<string?> StandingAsync(PayingShelf shelf, string subject) => shelf.AskAsync(db =>
        db.Alerts.Where(a => a.Kind == AlertKind.PaymentsMissed && a.Subject == subject && a.SettledAt == null).Select(a => (string?)a.Words).SingleOrDefaultAsync());
}
