using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>The licence that lies in one version's archive, word for word.</summary>
public sealed class VersionLicenceModel(ReadVersionLicence read, ShopView shops) : PageModel
{
    public VersionLicence Licence { get; private set; } = null!;

    public DateTimeZone Zone { get; private set; } = DateTimeZone.Utc;

    public async Task<IActionResult> OnGetAsync(string slug, string number, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(slug, number, User.PersonId(), cancellationToken) is not { } licence)
            return NotFound();
        Licence = licence;
        Zone = (await shops.GetAsync(cancellationToken)).Zone;
        return Page();
    }
}
