using System.Reflection;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>A shelf restored from a backup reads at the payment provider, and changes nothing there.</summary>
public sealed class HeldPaymentsTests
{
    /// <summary>What changes nothing there; whatever the wall gets besides has to be held.</summary>
    private static readonly string[] Reading =
    [
        nameof(IPayments.ReadCheckoutAsync), nameof(IPayments.ReadMembershipAsync), nameof(IPayments.FindMembershipAsync), nameof(IPayments.ListMembershipsAsync),
        nameof(IPayments.ReadMessage), "get_IsOpen", "get_IsPractice", "get_PagesOrigin",
    ];

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task While_it_is_held_nothing_that_changes_anything_there_goes_through_and_the_words_say_why(bool isTrial)
    {
        var words = isTrial ? HeldPayments.Trial : HeldPayments.Held;
        await using var shelf = await PayingShelf.MakeAsync();
        shelf.Provider.Begins(Told.Begun("sub_1", shelf.Now));
        var wall = new HeldPayments(shelf.Provider, new Databases(shelf.Open));
        await HoldAsync(shelf, shelf.Now, isTrial);
        var changing = typeof(IPayments).GetMethods().Where(m => !Reading.Contains(m.Name, StringComparer.Ordinal)).ToList();
        Assert.Equal(9, changing.Count);
        foreach (var method in changing)
        {
            var held = await Assert.ThrowsAsync<PaymentsUnreachableException>(() => CallAsync(wall, method));
            Assert.Equal(words, held.Message);
        }
        Assert.Empty(shelf.Provider.Wishes);
        Assert.Null(shelf.Provider.Wish);
        Assert.NotNull(await wall.ReadMembershipAsync("sub_1", default));
        Assert.Single(await wall.ListMembershipsAsync(default).ToListAsync());

        await HoldAsync(shelf, null, isTrial: false);
        foreach (var method in changing)
            await CallAsync(wall, method);
        Assert.NotEmpty(shelf.Provider.Wishes);
    }

    [Fact]
    public async Task Credits_and_prices_wait_without_a_try_and_are_done_when_the_hold_ends()
    {
        await using var shelf = await PayingShelf.MakeAsync();
        await shelf.FinishAsync(await shelf.PayAsync());
        await shelf.AskAsync(db => new CreditMonth(db, shelf.Clock).RunAsync(new NodaTime.YearMonth(2026, 11), "The kiln broke.", default));
        await shelf.AskAsync(db => new WriteCredits(db, shelf.Clock).RunAsync(PayingShelf.Address, default));
        await HoldAsync(shelf, shelf.Now, isTrial: false);
        Assert.False(await DueAsync(shelf));
        Assert.Null(await PayAsync(shelf));
        Assert.Null(await shelf.AskAsync(db => new ApplyPriceChanges(db, shelf.Provider, Look(db, shelf), shelf.Clock, shelf.Settings).RunAsync(null, default)));
        Assert.Empty(shelf.Provider.Wishes);
        await HoldAsync(shelf, null, isTrial: false);
        Assert.True(await DueAsync(shelf));
        Assert.Null(await PayAsync(shelf));
        Assert.Equal(["credit cus_sub_1 900 EUR slipped-1-1"], shelf.Provider.Wishes);
    }

    private static Task HoldAsync(PayingShelf shelf, DateTimeOffset? since, bool isTrial) =>
        shelf.AskAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, since).SetProperty(x => x.IsTrial, isTrial)));

    private static Task<bool> DueAsync(PayingShelf shelf) => shelf.AskAsync(db => new FindMoneyDue(db, shelf.Clock, shelf.Settings).RunAsync(default));

    private static Task<string?> PayAsync(PayingShelf shelf) => shelf.AskAsync(db => new PayCredits(db, shelf.Provider, Look(db, shelf), shelf.Clock).RunAsync(null, default));

    private static LookAgain Look(ShelfDb db, PayingShelf shelf) => new(db, shelf.Provider, shelf.Clock, shelf.Settings);

    private static Task CallAsync(IPayments wall, MethodInfo method) => (Task)method.Invoke(wall, [.. method.GetParameters().Select(p => Argument(p.Name!, p.ParameterType))])!;

    private static object? Argument(string name, Type type) =>
        name == "membershipId" ? "sub_1"
        : name == "customerId" ? "cus_sub_1"
        : type == typeof(string) ? "in_sub_1_0"
        : type == typeof(long) || type == typeof(long?) ? 1L
        : type == typeof(bool) ? false
        : type == typeof(Uri) ? new Uri("https://shelf.example/mine")
        : type == typeof(PriceWish) ? new PriceWish(1, "Membership", 900, "EUR", 1, true)
        : type == typeof(CheckoutWish) ? new CheckoutWish(1, "price_1", "wren@post.example", null, new Uri("https://shelf.example/done"), new Uri("https://shelf.example/join"))
        : type == typeof(CancellationToken) ? CancellationToken.None
        : throw new InvalidOperationException($"Nothing is known of {name}.");

    private sealed class Databases(Func<ShelfDb> open) : IDbContextFactory<ShelfDb>
    {
        public ShelfDb CreateDbContext() => open();
    }
}
