using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Back from the payment page. Signs in, once, whom the joining brought to the shelf.</summary>
internal sealed class JoinedModel(FinishJoining finish, SignInManager<Person> signIn, PublicAddress address, JobChain jobs) : PageModel
{
    public FinishOutcome Outcome { get; private set; } = new FinishOutcome.NoSuchJoining();

    public async Task OnGetAsync(string token, CancellationToken cancellationToken)
    {
        Outcome = await finish.RunAsync(token, address.ForMail(Request), cancellationToken);
        if (Outcome is FinishOutcome.Joined joined)
        {
            jobs.MailSoon();
            if (joined.SignIn is { } person)
                await signIn.SignInAsync(person, isPersistent: true);
        }
        if (Outcome is FinishOutcome.NoSuchJoining)
            Response.StatusCode = StatusCodes.Status404NotFound;
    }
}
