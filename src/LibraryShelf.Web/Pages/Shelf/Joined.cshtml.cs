using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Back from the payment page. Signs in, once, whom the joining brought to the shelf, in the browser where it was begun.</summary>
[EnableRateLimiting(RateLimits.Returning)]
internal sealed class JoinedModel(FinishJoining finish, SignInManager<Person> signIn, PublicAddress address, JobChain jobs) : PageModel
{
    public FinishOutcome Outcome { get; private set; } = new FinishOutcome.NoSuchJoining();

    public async Task OnGetAsync(string token, CancellationToken cancellationToken)
    {
        Outcome = await finish.RunAsync(token, address.ForMail(Request), JoiningCookie.IsBegunHere(Request, token), cancellationToken);
        if (Outcome is FinishOutcome.Joined joined)
        {
            jobs.MailSoon();
            if (joined.SignIn is { } person)
            {
                await signIn.SignInAsync(person, isPersistent: true);
                JoiningCookie.Forget(Response);
            }
        }
        if (Outcome is FinishOutcome.NoSuchJoining)
            Response.StatusCode = StatusCodes.Status404NotFound;
    }
}
