using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The maker takes over an empty shelf with the link printed at start, and names her shop.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class ClaimModel(LookAtTicket look, ClaimShelf claim, SignInManager<Person> signIn) : PageModel
{
    [BindProperty] public ShopFields Shop { get; set; } = new();

    [BindProperty] public string? Email { get; set; }

    [BindProperty] public string? Password { get; set; }

    public TicketState State { get; private set; }

    public IReadOnlyList<Refusal> Troubles { get; private set; } = [];

    public async Task OnGetAsync(string token, CancellationToken cancellationToken) =>
        Show((await look.RunAsync(token, SignInPurpose.ClaimShelf, cancellationToken)).State);

    public async Task<IActionResult> OnPostAsync(string token, CancellationToken cancellationToken)
    {
        switch (await claim.RunAsync(token, Shop.ToForm(), Email, Password ?? "", cancellationToken))
        {
            case ClaimOutcome.Claimed claimed:
                await signIn.SignInAsync(claimed.Maker, isPersistent: false);
                return LocalRedirect("/workbench");
            case ClaimOutcome.Refused refused:
                State = TicketState.Open;
                Troubles = refused.Troubles;
                Response.StatusCode = StatusCodes.Status400BadRequest;
                return Page();
            case ClaimOutcome.LinkRefused refused:
                Show(refused.State);
                return Page();
            default:
                throw new InvalidOperationException("A claim is taken or refused.");
        }
    }

    private void Show(TicketState state)
    {
        State = state;
        if (state != TicketState.Open)
            Response.StatusCode = state == TicketState.Unknown ? StatusCodes.Status404NotFound : StatusCodes.Status410Gone;
    }
}
