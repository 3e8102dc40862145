using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

public sealed class TellNewAddressTests
{
    private const string Moved = "wren@moved.example";

    /// <summary>Wren pays, and her address is another now, said yes to by mail.</summary>
    private static async Task<(PayingShelf Shelf, long Wren)> MovedAsync(bool isConfirmed = true)
    {
        var shelf = await PayingShelf.MakeAsync();
        await shelf.FinishAsync(await shelf.PayAsync());
        await using var db = shelf.Open();
        var wren = await db.Users.SingleAsync();
        (wren.Email, wren.NormalizedEmail, wren.EmailConfirmed) = (Moved, Moved.ToUpperInvariant(), isConfirmed);
        await db.SaveChangesAsync();
        return (shelf, wren.Id);
    }

    private static Task<TellAddressOutcome> TellAsync(PayingShelf shelf, long person) => shelf.AskAsync(db => new TellNewAddress(db, shelf.Provider).RunAsync(person, default));

    private static IEnumerable<string> Wishes(PayingShelf shelf) => shelf.Provider.Wishes.Where(w => w.StartsWith("address", StringComparison.Ordinal));

    [Fact]
    public async Task The_provider_is_told_and_a_look_then_finds_nothing_to_set_right()
    {
        var (shelf, wren) = await MovedAsync();
        await using var _ = shelf;
        Assert.Equal(TellAddressOutcome.Told, await TellAsync(shelf, wren));
        Assert.Equal([$"address cus_sub_1 {Moved}"], Wishes(shelf));
        Assert.Equal(Moved, (await shelf.Provider.ReadMembershipAsync("sub_1", default))!.Email);
        await shelf.ReconcileAsync();
        Assert.Single(Wishes(shelf));
    }

    [Fact]
    public async Task A_provider_that_was_away_is_told_by_the_next_look()
    {
        var (shelf, wren) = await MovedAsync();
        await using var _ = shelf;
        shelf.Provider.IsAway = true;
        Assert.Equal(TellAddressOutcome.Later, await TellAsync(shelf, wren));
        shelf.Provider.IsAway = false;
        Assert.Equal(0, (await shelf.ReconcileAsync()).Mended); // no right has changed
        Assert.Equal([$"address cus_sub_1 {Moved}"], Wishes(shelf));
        await shelf.ReconcileAsync();
        Assert.Single(Wishes(shelf));
    }

    [Fact]
    public async Task What_the_provider_refuses_is_tried_once_a_look_and_spoils_none()
    {
        var (shelf, _) = await MovedAsync();
        await using var __ = shelf;
        shelf.Provider.Refuses = "address";
        Assert.Equal(LookOutcome.Kept, await shelf.LookAsync("sub_1"));
        Assert.Equal(1, (await shelf.ReconcileAsync()).LookedAt);
        Assert.Empty(Wishes(shelf));
        shelf.Provider.Refuses = null;
        await shelf.LookAsync("sub_1");
        Assert.Single(Wishes(shelf));
    }

    [Fact]
    public async Task An_address_nobody_proved_by_mail_is_not_passed_on_by_a_look()
    {
        var (shelf, _) = await MovedAsync(isConfirmed: false);
        await using var __ = shelf;
        await shelf.LookAsync("sub_1");
        Assert.Empty(Wishes(shelf));
    }

    [Fact]
    public async Task A_membership_that_has_ended_is_let_be_and_who_never_paid_is_not_the_providers_business()
    {
        var (shelf, wren) = await MovedAsync();
        await using var _ = shelf;
        shelf.Provider.Happens("sub_1", m => m with { EndedAt = shelf.Now });
        await shelf.LookAsync("sub_1");
        Assert.Empty(Wishes(shelf));
        Assert.Equal(TellAddressOutcome.NothingToTell, await TellAsync(shelf, wren + 1));
        // But at the change itself all are told: whoever joins again finds the right address at the provider.
        Assert.Equal(TellAddressOutcome.Told, await TellAsync(shelf, wren));
    }
}
