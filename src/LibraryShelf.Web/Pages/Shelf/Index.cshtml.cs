using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>The shelf: /?show=free&amp;find=struck&amp;order=-keys. Anything else in the address means the shelf as it stands.</summary>
public sealed class IndexModel(ReadShelf readShelf, ReadNextDrop readDrops, ShopView shops, Looking looking) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string? Show { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Find { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Order { get; set; }

    public ShelfList Shelf { get; private set; } = null!;

    /// <summary>This month's drop, and the next.</summary>
    public DropNews Drops { get; private set; } = DropNews.None;

    public ShelfWish Wish { get; private set; } = new();

    public ShopFront Shop { get; private set; } = ShopFront.Unclaimed;

    /// <summary>The shelf's address for linked data; null when we are not sure of it.</summary>
    public string? HomeIfSure => HttpContext.RequestServices.GetRequiredService<PublicAddress>().ForMail(Request);

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Wish = ShelfAddress.Read(Show, Find, Order);
        Shop = await shops.GetAsync(cancellationToken);
        Shelf = await readShelf.RunAsync(Wish, cancellationToken);
        Drops = await readDrops.RunAsync(cancellationToken);
        looking.CameFrom(HttpContext, 0);
        if (Shelf.Boxes.Count == 0 && Shelf.All > 0 && Wish.Find.Trim().Length > 0)
            looking.FoundNothing(HttpContext, Wish.Find);
    }

    /// <summary>Only a column that the list is sorted by has it.</summary>
    public string? AriaSort(ShelfSort column) =>
        Wish.Sort != column ? null : Wish.Descending ? "descending" : "ascending";

    /// <summary>The address behind a column's header: sorts by it, or turns it round.</summary>
    public string SortBy(ShelfSort column) => ShelfAddress.Write(ShelfAddress.SortedBy(Wish, column));
}
