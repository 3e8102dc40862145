using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

public sealed class KeepMessagesTests
{
    [Fact]
    public async Task A_message_is_kept_once_however_often_it_comes()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        Assert.Equal(2, await shelf.KeepAsync(shelf.Message("evt_1"), shelf.Message("evt_1"), shelf.Message("evt_2")));
        Assert.Equal(0, await shelf.KeepAsync(shelf.Message("evt_2")));
        Assert.Equal(1, await shelf.KeepAsync(shelf.Message("evt_1"), shelf.Message("evt_3")));
        Assert.Equal(3, await shelf.AskAsync(db => db.PaymentEvents.CountAsync()));
    }

    [Fact]
    public async Task Two_deliveries_at_the_same_instant_make_one_row()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        var kept = await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Task.Run(() => shelf.KeepAsync(shelf.Message("evt_1"), shelf.Message("evt_2")))));
        Assert.Equal(2, kept.Sum());
        Assert.Equal(2, await shelf.AskAsync(db => db.PaymentEvents.CountAsync()));
    }

    [Fact]
    public async Task What_was_done_is_not_done_again_when_it_comes_again()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        await shelf.KeepAsync(shelf.Message("evt_1", SubjectKind.Membership, "sub_1"));
        await shelf.HandleAsync();
        await shelf.KeepAsync(shelf.Message("evt_1", SubjectKind.Membership, "sub_1"));
        await shelf.HandleAsync();
        Assert.Single(shelf.Provider.Reads);
    }
}
