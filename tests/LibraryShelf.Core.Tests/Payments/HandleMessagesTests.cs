using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

public sealed class HandleMessagesTests
{
    [Fact]
    public async Task Each_membership_is_looked_at_once_however_many_messages_name_it()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.KeepAsync([.. Enumerable.Range(0, 60).Select(n => shelf.Message($"evt_{n}", SubjectKind.Membership, "sub_1"))]);
        Assert.Null(await shelf.HandleAsync());
        Assert.Equal(["sub_1"], shelf.Provider.Reads);
        Assert.Equal(0, await UndoneAsync(shelf));
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    [Theory]
    [InlineData(SubjectKind.Invoice, "in_sub_1_0")]
    [InlineData(SubjectKind.Charge, "ch_in_sub_1_0")]
    [InlineData(SubjectKind.Dispute, "dp_in_sub_1_0")]
    [InlineData(SubjectKind.Checkout, "cs_sub_1")]
    public async Task Whatever_a_message_names_leads_to_its_membership(SubjectKind kind, string subject)
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.KeepAsync(shelf.Message("evt_1", kind, subject));
        Assert.Null(await shelf.HandleAsync());
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    [Fact]
    public async Task A_message_about_nothing_of_ours_is_done_with()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.KeepAsync(shelf.Message("evt_1"), shelf.Message("evt_2", SubjectKind.Invoice, "in_other"), shelf.Message("evt_3", SubjectKind.Membership, "sub_gone"));
        Assert.Null(await shelf.HandleAsync());
        Assert.Equal(0, await UndoneAsync(shelf));
    }

    [Fact]
    public async Task Away_a_message_waits_longer_each_time_and_is_done_in_the_end()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.KeepAsync(shelf.Message("evt_1", SubjectKind.Membership, "sub_1"));
        shelf.Provider.IsAway = true;
        // The waits of HandleMessages, the last one for ever.
        foreach (var minutes in new[] { 1, 5, 30, 120, 720, 720 })
        {
            Assert.Contains("away", await shelf.HandleAsync(), StringComparison.Ordinal);
            Assert.Null(await shelf.HandleAsync()); // not due
            var row = await shelf.AskAsync(db => db.PaymentEvents.SingleAsync());
            Assert.Equal((shelf.Now.AddMinutes(minutes), "The provider is away.", null), (row.NextTryAt!.Value, row.Trouble, row.DoneAt));
            shelf.Clock.SetUtcNow(row.NextTryAt.Value);
        }
        shelf.Provider.IsAway = false;
        Assert.Null(await shelf.HandleAsync());
        var done = await shelf.AskAsync(db => db.PaymentEvents.SingleAsync());
        Assert.Equal((shelf.Now, null), (done.DoneAt!.Value, done.Trouble));
        Assert.Equal("2026-11", await shelf.MonthsAsync());
    }

    [Fact]
    public async Task One_that_cannot_be_read_is_put_off_and_named_and_the_others_go_on()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now, "knot@post.example"));
        shelf.Provider.Begins(Told.Begun("sub_2", shelf.Now));
        await shelf.KeepAsync(shelf.Message("evt_1", SubjectKind.Membership, "sub_1"), shelf.Message("evt_2", SubjectKind.Membership, "sub_2"));
        shelf.Provider.Garbled = "sub_1";
        Assert.Contains("sub_1", await shelf.HandleAsync(), StringComparison.Ordinal);
        Assert.Equal("2026-11", await shelf.MonthsAsync());
        var waits = await shelf.AskAsync(db => db.PaymentEvents.SingleAsync(e => e.DoneAt == null));
        Assert.Equal(("evt_1", 1, shelf.Now.AddMinutes(1)), (waits.ProviderId, waits.Tries, waits.NextTryAt!.Value));
        shelf.Provider.Garbled = null;
        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Assert.Null(await shelf.HandleAsync());
        Assert.Equal(0, await UndoneAsync(shelf));
    }

    [Fact]
    public async Task Ended_from_outside_it_ends_and_counts_no_try()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.KeepAsync(shelf.Message("evt_1", SubjectKind.Membership, "sub_1"));
        using var ends = new CancellationTokenSource();
        shelf.Provider.OnTheWay = ends.CancelAsync;
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => shelf.HandleAsync(ends.Token));
        Assert.Equal((null, 0), await shelf.AskAsync(async db => (await db.PaymentEvents.SingleAsync()) is var e ? (e.DoneAt, e.Tries) : default));
    }

    private static Task<int> UndoneAsync(PayingShelf shelf) => shelf.AskAsync(db => db.PaymentEvents.CountAsync(e => e.DoneAt == null));
}
