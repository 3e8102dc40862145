using System.Globalization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Asks for a sign-in mail. The answer is the same whether the shelf knows the address or not.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class SignInModel(AskForSignIn ask, PublicAddress address, JobChain jobs) : PageModel
{
    [BindProperty] public string? Email { get; set; }

    [BindProperty(Name = "return", SupportsGet = true)] public string? Return { get; set; }

    /// <summary>Null until asked.</summary>
    public AskOutcome? Outcome { get; private set; }

    public void OnGet() => Return = this.LocalOrEmpty(Return);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        Return = this.LocalOrEmpty(Return);
        Outcome = await ask.RunAsync(Email, address.ForMail(Request), Return, cancellationToken);
        switch (Outcome)
        {
            case AskOutcome.MailOnItsWay:
                jobs.MailSoon();
                break;
            case AskOutcome.TooOften:
                Response.StatusCode = StatusCodes.Status429TooManyRequests;
                Response.Headers.RetryAfter = AskForSignIn.CountedOver.TotalSeconds.ToString(CultureInfo.InvariantCulture);
                break;
            default:
                Response.StatusCode = StatusCodes.Status400BadRequest;
                break;
        }
        return Page();
    }
}
