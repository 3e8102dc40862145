using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Where one holds a folder against the versions of a box. The browser does it; nothing is sent here.</summary>
public sealed class WhichVersionModel(ReadBox readBox) : PageModel
{
    public BoxPage Box { get; private set; } = null!;

    /// <summary>The box's address, for the command line.</summary>
    public string Address => $"{HttpContext.RequestServices.GetRequiredService<PublicAddress>().ForPage(Request)}/boxes/{Box.Library.Slug}";

    public async Task<IActionResult> OnGetAsync(string slug, CancellationToken cancellationToken)
    {
        if (await readBox.RunAsync(slug, User.PersonId(), cancellationToken) is not { } box
            || (box.Versions.Count + box.Early.Count == 0 && !box.Withdrawn.Any(r => r.PublishedAt is not null)))
            return NotFound();
        Box = box;
        return Page();
    }
}
