using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>The page behind the mailed links about another address. Opening it says nothing, because mail scanners open links; its buttons do.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class ConfirmAddressModel(LookAtAddress look, ConfirmAddress confirm, SignInManager<Person> signIn, JobChain jobs) : PageModel
{
    /// <summary>As it stands in the address.</summary>
    [BindProperty(SupportsGet = true)] public string Token { get; set; } = "";

    public AddressLook Look { get; private set; } = new(AddressChangeState.Unknown, false, "");

    /// <summary>Null until a button is pressed.</summary>
    public ConfirmAddressOutcome? Outcome { get; private set; }

    public async Task OnGetAsync(CancellationToken cancellationToken) => Show(await look.RunAsync(Token, cancellationToken));

    public Task<IActionResult> OnPostYesAsync(CancellationToken cancellationToken) => AnswerAsync(isYes: true, cancellationToken);

    public Task<IActionResult> OnPostNoAsync(CancellationToken cancellationToken) => AnswerAsync(isYes: false, cancellationToken);

    private async Task<IActionResult> AnswerAsync(bool isYes, CancellationToken cancellationToken)
    {
        Outcome = await confirm.RunAsync(Token, isYes, cancellationToken);
        switch (Outcome)
        {
            case ConfirmAddressOutcome.Changed changed:
                jobs.MailSoon();
                jobs.TellAddressSoon(changed.Person.Id);
                // Signed out everywhere, but not on the device where the yes was said, if it is theirs.
                if (User.PersonId() == changed.Person.Id)
                    await signIn.RefreshSignInAsync(changed.Person);
                break;
            case ConfirmAddressOutcome.Taken:
                Response.StatusCode = StatusCodes.Status409Conflict;
                break;
            case ConfirmAddressOutcome.LinkRefused refused:
                Show(new(refused.State, false, ""));
                break;
        }
        return Page();
    }

    private void Show(AddressLook found)
    {
        Look = found;
        if (!found.IsWaiting)
            Response.StatusCode = found.State == AddressChangeState.Unknown ? StatusCodes.Status404NotFound : StatusCodes.Status410Gone;
    }
}
