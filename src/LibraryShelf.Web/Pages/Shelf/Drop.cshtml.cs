using LibraryShelf.Core.Drops;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>A month's drop, once it is out; before, there is no such page.</summary>
internal sealed class DropModel(ReadDropOut read) : PageModel
{
    public DropOut Drop { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(string? month, CancellationToken cancellationToken)
    {
        if (DropWords.Read(month) is not { } asked || await read.RunAsync(asked, cancellationToken) is not { } drop)
            return NotFound();
        Drop = drop;
        return Page();
    }
}
