using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A release's check sheet: how far the check is, then what it found, and excuses.</summary>
public sealed class SheetModel(ReadRelease read, ShopView shop) : ReleasePage(read, shop)
{
    private (long Entry, string? Reason) typed;

    /// <summary>A refused reason, as typed beside this entry.</summary>
    public string? Typed(long entryId) => typed.Entry == entryId ? typed.Reason : null;

    public Task<IActionResult> OnGetAsync(CancellationToken cancellationToken) => ShowAsync(cancellationToken);
}
