using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Shelf;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class ShelfAddressTests
{
    public static TheoryData<string> Addresses() =>
        ["/", "/?show=free", "/?show=members&find=tin", "/?find=saw%20bench&order=keys", "/?order=-size", "/?order=published", "/?order=for", "/?sound=plucked&keys=50-&size=500&opens=Pondskater%202.3"];

    [Theory, MemberData(nameof(Addresses))]
    public void What_is_written_is_read_back(string address)
    {
        var query = Microsoft.AspNetCore.WebUtilities.QueryHelpers.ParseQuery(address.TrimStart('/'));
        var wish = ShelfAddress.Read(query.GetValueOrDefault("show"), query.GetValueOrDefault("find"), query.GetValueOrDefault("order"),
            query.GetValueOrDefault("sound"), query.GetValueOrDefault("keys"), query.GetValueOrDefault("size"), query.GetValueOrDefault("opens"));
        Assert.Equal(address, ShelfAddress.Write(wish));
    }

    [Theory]
    [InlineData("everyone", null, "7")]
    [InlineData("", "", "")]
    [InlineData(null, "   ", "-")]
    public void A_mistyped_address_is_the_whole_shelf(string? show, string? find, string? order) =>
        Assert.Equal(new ShelfWish(), ShelfAddress.Read(show, find, order));

    [Fact]
    public void Every_order_is_offered_once_newest_first_before_all()
    {
        var orders = ShelfAddress.Orders.ToList();
        Assert.Equal(("", "Newest first"), orders[0]);
        Assert.Equal(2 * Enum.GetValues<ShelfSort>().Length, orders.Select(o => o.Word).Distinct(StringComparer.Ordinal).Count());
        Assert.All(orders, o => Assert.Equal(o.Words, ShelfAddress.InWords(ShelfAddress.Read(null, null, o.Word))));
    }

    [Fact]
    public void A_header_starts_with_what_people_look_for_and_then_turns_round()
    {
        var keys = ShelfAddress.SortedBy(new ShelfWish(), ShelfSort.Keys);
        Assert.True(keys.Descending);
        Assert.False(ShelfAddress.SortedBy(keys, ShelfSort.Keys).Descending);
        Assert.False(ShelfAddress.SortedBy(keys, ShelfSort.Library).Descending);
        Assert.False(ShelfAddress.SortedBy(new ShelfWish(), ShelfSort.Published).Descending);
    }
}
