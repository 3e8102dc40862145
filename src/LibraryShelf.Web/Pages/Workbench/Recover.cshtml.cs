using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The maker chooses a new password with the link that the person at the server had printed.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class RecoverModel(LookAtTicket look, RecoverMaker recover, SignInManager<Person> signIn) : PageModel
{
    [BindProperty] public string? Password { get; set; }

    public TicketState State { get; private set; }

    public bool IsRefused { get; private set; }

    public async Task OnGetAsync(string token, CancellationToken cancellationToken) =>
        Show((await look.RunAsync(token, SignInPurpose.RecoverMaker, cancellationToken)).State);

    public async Task<IActionResult> OnPostAsync(string token, CancellationToken cancellationToken)
    {
        switch (await recover.RunAsync(token, Password, cancellationToken))
        {
            case RecoverOutcome.Recovered recovered:
                await signIn.SignInAsync(recovered.Maker, isPersistent: false);
                return LocalRedirect("/workbench");
            case RecoverOutcome.Refused:
                State = TicketState.Open;
                IsRefused = true;
                Response.StatusCode = StatusCodes.Status400BadRequest;
                return Page();
            case RecoverOutcome.LinkRefused refused:
                Show(refused.State);
                return Page();
            default:
                throw new InvalidOperationException("A link is taken or refused.");
        }
    }

    private void Show(TicketState state)
    {
        State = state;
        if (state != TicketState.Open)
            Response.StatusCode = state == TicketState.Unknown ? StatusCodes.Status404NotFound : StatusCodes.Status410Gone;
    }
}
