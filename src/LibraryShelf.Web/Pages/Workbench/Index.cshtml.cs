using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The workbench's first page: every library with what is on the shelf and what is in work.</summary>
public sealed class IndexModel(ReadWorkbench read, ShopView shop) : PageModel
{
    public IReadOnlyList<LibraryAtWork> Libraries { get; private set; } = [];

    public DateTimeZone Zone { get; private set; } = DateTimeZone.Utc;

    public string Opening
    {
        get
        {
            var onShelf = Libraries.Count(l => l.OnShelf is not null);
            var standing = onShelf == Libraries.Count ? "" : onShelf == 0 ? ", none on the shelf yet" : $", {onShelf} of them on the shelf";
            return $"{Plural.Opening(Libraries.Count, "library")}{standing}.";
        }
    }

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Libraries = await read.RunAsync(cancellationToken);
        Zone = (await shop.GetAsync(cancellationToken)).Zone;
    }
}
