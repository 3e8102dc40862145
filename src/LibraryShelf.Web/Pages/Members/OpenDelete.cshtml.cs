using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Persons;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>The page behind the mailed link: its button deletes, signed in or not. Opening it changes nothing.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class OpenDeleteModel(LookAtDeleteLink look, DeletePerson delete, SignInManager<Person> signIn, JobChain jobs) : PageModel
{
    public TicketState State { get; private set; }

    public DeletingLook? Look { get; private set; }

    public DeleteOutcome? Outcome { get; private set; }

    public async Task OnGetAsync(string token, CancellationToken cancellationToken)
    {
        Response.Headers.CacheControl = "no-store";
        (State, Look) = await look.RunAsync(token, cancellationToken);
        if (Outcome is null)
            Response.StatusCode = StatusOf(State);
    }

    public async Task OnPostAsync(string token, CancellationToken cancellationToken)
    {
        Outcome = await delete.RunAsync(token, cancellationToken);
        Response.StatusCode = Outcome switch
        {
            DeleteOutcome.Deleted => StatusCodes.Status200OK,
            DeleteOutcome.LinkRefused refused => StatusOf(refused.State),
            DeleteOutcome.IsMaker => StatusCodes.Status403Forbidden,
            _ => StatusCodes.Status503ServiceUnavailable,
        };
        if (Outcome is DeleteOutcome.Deleted deleted)
        {
            jobs.MailSoon();
            jobs.KeepDeletionsSoon();
            if (User.PersonId() == deleted.PersonId)
                await signIn.SignOutAsync();
        }
        else
        {
            await OnGetAsync(token, cancellationToken);
        }
    }

    private static int StatusOf(TicketState state) => state switch
    {
        TicketState.Open => StatusCodes.Status200OK,
        TicketState.Unknown => StatusCodes.Status404NotFound,
        _ => StatusCodes.Status410Gone,
    };
}
