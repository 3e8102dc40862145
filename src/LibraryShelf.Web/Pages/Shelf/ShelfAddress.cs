using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>The shelf's wish as an address and in words. A minus before the order means from the top down.</summary>
internal static class ShelfAddress
{
    private static readonly ShelfWish Plain = new();

    /// <summary>Unknown words are passed over: an old or mistyped link still shows the shelf.</summary>
    public static ShelfWish Read(string? show, string? find, string? order)
    {
        var down = order?.StartsWith('-') ?? false;
        var name = order?.TrimStart('-');
        var sort = Enum.GetValues<ShelfSort>().FirstOrDefault(s => string.Equals(Word(s), name, StringComparison.OrdinalIgnoreCase), (ShelfSort)(-1));
        return new ShelfWish(
            show switch { "free" => Audience.Free, "members" => Audience.Members, _ => null },
            find?.Trim() is { Length: <= 100 } words ? words : "",
            (int)sort < 0 ? Plain.Sort : sort,
            (int)sort < 0 ? Plain.Descending : down);
    }

    public static string Write(ShelfWish wish)
    {
        var query = new QueryString();
        if (wish.Show is { } show)
            query = query.Add("show", show == Audience.Free ? "free" : "members");
        if (wish.Find.Length > 0)
            query = query.Add("find", wish.Find);
        return "/" + (IsPlainOrder(wish) ? query : query.Add("order", OrderWord(wish)));
    }

    /// <summary>The order as the address has it; empty for newest first.</summary>
    public static string OrderWord(ShelfWish wish) => IsPlainOrder(wish) ? "" : (wish.Descending ? "-" : "") + Word(wish.Sort);

    /// <summary>A new column starts with what people look for first: names from A, figures from the largest, days from the newest.</summary>
    public static ShelfWish SortedBy(ShelfWish wish, ShelfSort column) => wish with
    {
        Sort = column,
        Descending = wish.Sort == column ? !wish.Descending : column is not (ShelfSort.Library or ShelfSort.Sound or ShelfSort.For),
    };

    /// <summary>"Newest first", "Most keys first", "By name, Z to A".</summary>
    public static string InWords(ShelfWish wish) => (wish.Sort, wish.Descending) switch
    {
        (ShelfSort.Published, true) => "Newest first",
        (ShelfSort.Published, false) => "Oldest first",
        (ShelfSort.Library, false) => "By name, A to Z",
        (ShelfSort.Library, true) => "By name, Z to A",
        (ShelfSort.Sound, _) => "By sound",
        (ShelfSort.For, false) => "Free first",
        (ShelfSort.For, true) => "Members first",
        (ShelfSort.Keys, true) => "Most keys first",
        (ShelfSort.Keys, false) => "Fewest keys first",
        (ShelfSort.Recordings, true) => "Most recordings first",
        (ShelfSort.Recordings, false) => "Fewest recordings first",
        (ShelfSort.Size, true) => "Largest first",
        _ => "Smallest first",
    };

    private static bool IsPlainOrder(ShelfWish wish) => wish.Sort == Plain.Sort && wish.Descending == Plain.Descending;

    private static string Word(ShelfSort sort) => sort switch
    {
        ShelfSort.Published => "published",
        ShelfSort.Library => "library",
        ShelfSort.Sound => "sound",
        ShelfSort.Keys => "keys",
        ShelfSort.Recordings => "recordings",
        ShelfSort.Size => "size",
        _ => "for",
    };
}
