using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>The shelf's wish as an address and in words. A minus before the order means from the top down.</summary>
internal static class ShelfAddress
{
    private static readonly ShelfWish Plain = new();

    /// <summary>The choices of keys: up to each usual size of a keyboard, and what is larger.</summary>
    public static IReadOnlyList<(KeySpan Span, string Words)> KeySpans =>
        [(new(0, 16), T("up to 16")), (new(17, 25), T("17 to 25")), (new(26, 37), T("26 to 37")), (new(38, 49), T("38 to 49")), (new(50, null), T("50 and more"))];

    /// <summary>The choices of sizes, 10^6 bytes.</summary>
    public static IReadOnlyList<int> Megabytes { get; } = [250, 500, 1000, 2000, 5000];

    /// <summary>What the address says in further words: sound, keys ("17-25", "50-"), size (10^6 bytes at most), opens ("Pondskater 2.3").</summary>
    public static ShelfWish Read(string? show, string? find, string? order, string? sound, string? keys, string? size, string? opens) => Read(show, find, order) with
    {
        Sound = Short(sound),
        Keys = KeySpans.FirstOrDefault(k => KeysWord(k.Span) == keys).Span,
        MostMegabytes = int.TryParse(size, System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out var most) && Megabytes.Contains(most) ? most : null,
        Opens = Short(opens),
    };

    /// <summary>Unknown words are passed over: an old or mistyped link still shows the shelf.</summary>
    public static ShelfWish Read(string? show, string? find, string? order)
    {
        var down = order?.StartsWith('-') ?? false;
        var name = order?.TrimStart('-');
        var sort = Enum.GetValues<ShelfSort>().FirstOrDefault(s => string.Equals(Word(s), name, StringComparison.OrdinalIgnoreCase), (ShelfSort)(-1));
        return new ShelfWish(
            show switch { "free" => Audience.Free, "members" => Audience.Members, _ => null },
            Short(find),
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
        if (wish.Sound.Length > 0)
            query = query.Add("sound", wish.Sound);
        if (wish.Keys is { } keys)
            query = query.Add("keys", KeysWord(keys));
        if (wish.MostMegabytes is { } most)
            query = query.Add("size", most.ToString(System.Globalization.CultureInfo.InvariantCulture));
        if (wish.Opens.Length > 0)
            query = query.Add("opens", wish.Opens);
        return "/" + (IsPlainOrder(wish) ? query : query.Add("order", OrderWord(wish)));
    }

    /// <summary>The order as the address has it; empty for newest first.</summary>
    public static string OrderWord(ShelfWish wish) => IsPlainOrder(wish) ? "" : (wish.Descending ? "-" : "") + Word(wish.Sort);

    /// <summary>Each order there is, as the address has it and in words; the plain one first.</summary>
    public static IEnumerable<(string Word, string Words)> Orders =>
        from sort in Enum.GetValues<ShelfSort>()
        from first in new[] { true, false }
        let wish = new ShelfWish(Sort: sort, Descending: first == (sort is not (ShelfSort.Library or ShelfSort.Sound or ShelfSort.For)))
        select (OrderWord(wish), InWords(wish));

    /// <summary>A new column starts with what people look for first: names from A, figures from the largest, days from the newest.</summary>
    public static ShelfWish SortedBy(ShelfWish wish, ShelfSort column) => wish with
    {
        Sort = column,
        Descending = wish.Sort == column ? !wish.Descending : column is not (ShelfSort.Library or ShelfSort.Sound or ShelfSort.For),
    };

    /// <summary>"Newest first", "Most keys first", "By name, Z to A".</summary>
    public static string InWords(ShelfWish wish) => (wish.Sort, wish.Descending) switch
    {
        (ShelfSort.Published, true) => T("Newest first"),
        (ShelfSort.Published, false) => T("Oldest first"),
        (ShelfSort.Library, false) => T("By name, A to Z"),
        (ShelfSort.Library, true) => T("By name, Z to A"),
        (ShelfSort.Sound, false) => T("By sound, A to Z"),
        (ShelfSort.Sound, true) => T("By sound, Z to A"),
        (ShelfSort.For, false) => T("Free first"),
        (ShelfSort.For, true) => T("Members first"),
        (ShelfSort.Keys, true) => T("Most keys first"),
        (ShelfSort.Keys, false) => T("Fewest keys first"),
        (ShelfSort.Recordings, true) => T("Most recordings first"),
        (ShelfSort.Recordings, false) => T("Fewest recordings first"),
        (ShelfSort.Size, true) => T("Largest first"),
        _ => T("Smallest first"),
    };

    /// <summary>"17-25", "50-".</summary>
    public static string KeysWord(KeySpan? span) => span is null ? "" : $"{span.From}-{span.To}";

    private static string Short(string? words) => words?.Trim() is { Length: <= 100 } few ? few : "";

    private static bool IsPlainOrder(ShelfWish wish) => wish.Sort == Plain.Sort && wish.Descending == Plain.Descending;

    public static string Word(ShelfSort sort) => sort switch
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
