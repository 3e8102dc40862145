using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Where an address says that it wants to hear of a box's new versions. The answer is the same whether it follows already or not.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class FollowModel(ReadBox readBox, FollowLibrary follow, PublicAddress address, JobChain jobs) : PageModel
{
    public BoxPage Box { get; private set; } = null!;

    [BindProperty] public string? Email { get; set; }

    /// <summary>Null until asked.</summary>
    public FollowOutcome? Outcome { get; private set; }

    public string? Error => Outcome == FollowOutcome.NotAnAddress ? T("That is no e-mail address. It looks like wren@post.example.") : null;

    public bool IsSignedIn => User.PersonId() is not null;

    public bool IsForMembers => Box.Audience == Audience.Members;

    public async Task<IActionResult> OnGetAsync(string slug, CancellationToken cancellationToken)
    {
        // Only what stands on the shelf has followers.
        if (await readBox.RunAsync(slug, User.PersonId(), cancellationToken) is not { Versions.Count: > 0 } box)
            return NotFound();
        Box = box;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(string slug, CancellationToken cancellationToken)
    {
        Outcome = await follow.RunAsync(slug, Email, User.PersonId(), address.ForMail(Request), cancellationToken);
        switch (Outcome)
        {
            case FollowOutcome.MailOnItsWay:
                jobs.MailSoon();
                break;
            case FollowOutcome.TooOften:
                Response.StatusCode = StatusCodes.Status429TooManyRequests;
                Response.Headers.RetryAfter = FollowLibrary.CountedOver.TotalSeconds.ToString(CultureInfo.InvariantCulture);
                break;
            case FollowOutcome.NotAnAddress:
                Response.StatusCode = StatusCodes.Status400BadRequest;
                break;
            case FollowOutcome.NoPlace:
                Response.StatusCode = StatusCodes.Status409Conflict;
                break;
        }
        return await OnGetAsync(slug, cancellationToken);
    }
}
