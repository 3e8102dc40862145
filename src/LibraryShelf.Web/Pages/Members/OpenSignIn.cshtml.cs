using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>The page behind the mailed link. Opening it uses nothing up, because mail scanners open links; its button does.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class OpenSignInModel(LookAtTicket look, UseSignIn use, SignInManager<Person> signIn) : PageModel
{
    [BindProperty(Name = "return", SupportsGet = true)] public string? Return { get; set; }

    public TicketLook Look { get; private set; } = new(TicketState.Unknown, "", default);

    public async Task OnGetAsync(string token, CancellationToken cancellationToken) =>
        Show(await look.RunAsync(token, SignInPurpose.SignIn, cancellationToken));

    public async Task<IActionResult> OnPostAsync(string token, CancellationToken cancellationToken)
    {
        switch (await use.RunAsync(new SignInProof.Link(token), cancellationToken))
        {
            case SignInOutcome.Done done:
                return await this.SignInAndGoOnAsync(signIn, done.Person, Return);
            case SignInOutcome.LinkRefused refused:
                Show(new(refused.State, "", default));
                return Page();
            default:
                throw new InvalidOperationException("A link is taken or refused as a link.");
        }
    }

    private void Show(TicketLook found)
    {
        Look = found;
        Return = this.LocalOrEmpty(Return);
        Response.StatusCode = found.State switch
        {
            TicketState.Open => StatusCodes.Status200OK,
            TicketState.Unknown => StatusCodes.Status404NotFound,
            _ => StatusCodes.Status410Gone,
        };
    }
}
