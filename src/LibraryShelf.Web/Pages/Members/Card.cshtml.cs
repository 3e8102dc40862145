using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Leads to the payment provider's page for card and invoices; a page of its own only where that can't be.</summary>
[Authorize]
internal sealed class CardModel(FindPortal find, PublicAddress address) : PageModel
{
    public string? Trouble { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        switch (await find.RunAsync(User.PersonId() ?? 0, new Uri(address.ForPage(Request) + "/mine"), cancellationToken))
        {
            case PortalOutcome.Open open:
                return Redirect(open.Page.AbsoluteUri);
            case PortalOutcome.Unreachable away:
                Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
                Trouble = away.Words;
                return Page();
            default:
                Response.StatusCode = StatusCodes.Status404NotFound;
                return Page();
        }
    }
}
