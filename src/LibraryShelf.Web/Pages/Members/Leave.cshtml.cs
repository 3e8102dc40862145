using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Leaving in two presses: this page is the first, its button the second. Signed in, or by the link of a mail.</summary>
[EnableRateLimiting(RateLimits.Leaving)]
internal sealed class LeaveModel(
    LookAtLeaving look, LeaveMembership leave, WithdrawFromMembership withdraw, PublicAddress address, JobChain jobs) : PageModel
{
    public LeaveLook? Look { get; private set; }

    /// <summary>Somebody signed in pays twice, and has left one of the two.</summary>
    public bool AnotherGoesOn { get; private set; }

    public LeaveOutcome? Outcome { get; private set; }

    [BindProperty(SupportsGet = true)] public string? Token { get; set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (Leaver is not { } leaver)
            return Redirect("/sign-in" + QueryString.Create("return", "/leave"));
        Look = await look.RunAsync(leaver, cancellationToken);
        if (Look is null)
            Response.StatusCode = StatusCodes.Status404NotFound;
        return Page();
    }

    public Task<IActionResult> OnPostAsync(CancellationToken cancellationToken) =>
        DoAsync(leaver => leave.RunAsync(leaver, staysAfterAll: false, address.ForMail(Request), cancellationToken), cancellationToken);

    public Task<IActionResult> OnPostStayAsync(CancellationToken cancellationToken) =>
        DoAsync(leaver => leave.RunAsync(leaver, staysAfterAll: true, address.ForMail(Request), cancellationToken), cancellationToken);

    public Task<IActionResult> OnPostWithdrawAsync(CancellationToken cancellationToken) =>
        DoAsync(leaver => withdraw.RunAsync(leaver, address.ForMail(Request), cancellationToken), cancellationToken);

    private Leaver? Leaver => Token is { Length: > 0 } token ? new Leaver.ByLink(token) : User.PersonId() is { } id ? new Leaver.SignedIn(id) : null;

    private async Task<IActionResult> DoAsync(Func<Leaver, Task<LeaveOutcome>> press, CancellationToken cancellationToken)
    {
        if (Leaver is not { } leaver)
            return Redirect("/sign-in" + QueryString.Create("return", "/leave"));
        Outcome = await press(leaver);
        Response.StatusCode = Outcome switch
        {
            LeaveOutcome.Unreachable => StatusCodes.Status503ServiceUnavailable,
            LeaveOutcome.NothingToLeave => StatusCodes.Status404NotFound,
            LeaveOutcome.TooLate => StatusCodes.Status409Conflict,
            _ => StatusCodes.Status200OK,
        };
        jobs.MailSoon();
        Look = await look.RunAsync(leaver, cancellationToken);
        AnotherGoesOn = User.PersonId() is { } id && await look.RunAsync(new Leaver.SignedIn(id), cancellationToken) is { Standing: not MembershipStanding.Leaving };
        return Page();
    }
}
