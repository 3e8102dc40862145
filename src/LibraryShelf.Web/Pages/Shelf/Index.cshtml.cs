using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Shelf.Boards;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>The shelf: /?show=free&amp;find=struck&amp;order=-keys&amp;keys=17-25. Anything else in the address means the shelf as it stands.</summary>
public sealed class IndexModel(ReadShelf readShelf, ReadNextDrop readDrops, ShopView shops, Looking looking, IPayments payments, TimeProvider clock) : PageModel
{
    /// <summary>A month and a few days: from one drop to the next it is new.</summary>
    private static readonly TimeSpan New = TimeSpan.FromDays(35);

    private HashSet<string> _shown = [];
    private bool _isForAll;

    [BindProperty(SupportsGet = true)]
    public string? Show { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Find { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Order { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Sound { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Keys { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Size { get; set; }

    [BindProperty(SupportsGet = true)]
    public string? Opens { get; set; }

    public ShelfList Shelf { get; private set; } = null!;

    /// <summary>This month's drop, and the next.</summary>
    public DropNews Drops { get; private set; } = DropNews.None;

    public ShelfWish Wish { get; private set; } = new();

    internal IReadOnlyList<Board> Boards { get; private set; } = [];

    public ShopFront Shop { get; private set; } = ShopFront.Unclaimed;

    /// <summary>The shelf's address for linked data; null when we are not sure of it.</summary>
    public string? HomeIfSure => HttpContext.RequestServices.GetRequiredService<PublicAddress>().ForMail(Request);

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Wish = ShelfAddress.Read(Show, Find, Order, Sound, Keys, Size, Opens);
        Shop = await shops.GetAsync(cancellationToken);
        Shelf = await readShelf.RunAsync(Wish, cancellationToken);
        Drops = await readDrops.RunAsync(cancellationToken);
        (_isForAll, _shown) = (Wish.IsForAll, [.. Shelf.Boxes.Select(b => b.Slug)]);
        Boards = Board.Of(Shelf.NewestFirst, Shop.Zone, Drops.Next is not null);
        looking.CameFrom(HttpContext, 0);
        if (Shelf.Boxes.Count == 0 && Shelf.All > 0 && Wish.Find.Trim().Length > 0)
            looking.FoundNothing(HttpContext, Wish.Find);
    }

    /// <summary>It is among those that were wished for.</summary>
    public bool IsShown(ShelfBox box) => _isForAll || _shown.Contains(box.Slug);

    /// <summary>It came out, or another version of it, within these days.</summary>
    public bool IsNew(ShelfBox box) => box.Latest.PublishedAt > clock.GetUtcNow() - New;

    /// <summary>Somebody who is not signed in can be a member nowhere but here; who is signed in may be one already, and the box's page knows.</summary>
    public bool MayJoin => payments.IsOpen && User.Identity?.IsAuthenticated != true;

    /// <summary>Only a column that the list is sorted by has it.</summary>
    public string? AriaSort(ShelfSort column) =>
        Wish.Sort != column ? null : Wish.Descending ? "descending" : "ascending";

    /// <summary>The address behind a column's header: sorts by it, or turns it round.</summary>
    public string SortBy(ShelfSort column) => ShelfAddress.Write(ShelfAddress.SortedBy(Wish, column));
}
