using LibraryShelf.Core.Persons;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>What deleting the one who is signed in would take, and the first of two presses: a mail with a link.</summary>
[Authorize, EnableRateLimiting(RateLimits.Doors)]
internal sealed class DeleteModel(LookAtDeleting look, AskToDelete ask, PublicAddress address, JobChain jobs) : PageModel
{
    public DeletingLook Look { get; private set; } = null!;

    public AskToDeleteOutcome? Outcome { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        Response.Headers.CacheControl = "no-store";
        if (await look.RunAsync(User.PersonId() ?? 0, cancellationToken) is not { } found)
            return Redirect("/sign-in");
        Look = found;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        Outcome = await ask.RunAsync(User.PersonId() ?? 0, address.ForMail(Request), cancellationToken);
        Response.StatusCode = Outcome switch
        {
            AskToDeleteOutcome.IsMaker => StatusCodes.Status403Forbidden,
            AskToDeleteOutcome.TooOften => StatusCodes.Status429TooManyRequests,
            _ => StatusCodes.Status200OK,
        };
        if (Outcome == AskToDeleteOutcome.MailOnItsWay)
            jobs.MailSoon();
        return await OnGetAsync(cancellationToken);
    }
}
