using System.Globalization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Asks for another address. The answer is the same whether the shelf knows the new one or not.</summary>
[Authorize, EnableRateLimiting(RateLimits.Doors)]
internal sealed class AddressModel(AskForAddress ask, PublicAddress address, JobChain jobs) : PageModel
{
    [BindProperty] public string? Email { get; set; }

    /// <summary>Null until asked.</summary>
    public AskAddressOutcome? Outcome { get; private set; }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        Outcome = await ask.RunAsync(User.PersonId() ?? 0, Email, address.ForMail(Request), cancellationToken);
        switch (Outcome)
        {
            case AskAddressOutcome.MailsOnTheirWay:
                jobs.MailSoon();
                break;
            case AskAddressOutcome.NotThere:
                return Redirect("/sign-out");
            case AskAddressOutcome.TooOften:
                Response.StatusCode = StatusCodes.Status429TooManyRequests;
                Response.Headers.RetryAfter = AskForAddress.CountedOver.TotalSeconds.ToString(CultureInfo.InvariantCulture);
                break;
            default:
                Response.StatusCode = StatusCodes.Status400BadRequest;
                break;
        }
        return Page();
    }
}
