using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>What is theirs: every version the signed-in person may download now, and why.</summary>
[Authorize, EnableRateLimiting(RateLimits.Links)]
internal sealed class MineModel(ReadMine read, ReadMyMembership readMembership, ReadUpdateOffers readOffers, MakeLink makeLink) : PageModel
{
    public MyMembership Membership { get; private set; } = new(null, null, MembershipStanding.Left, []);

    public Mine Mine { get; private set; } = new(false, null, []);

    public MayDownloadWhy? Refused { get; private set; }

    /// <summary>Why there is no update from the version that was chosen; null when none was asked for.</summary>
    public string? NoUpdate { get; private set; }

    private UpdateOffers updates = UpdateOffers.None;

    /// <summary>The update from the version this person has; null when they have none below it.</summary>
    public UpdateOffer? UpdateTo(MyRelease release) => updates.ByRelease.GetValueOrDefault(release.ReleaseId) is { IsYours: true } offer ? offer : null;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Mine = await read.RunAsync(User.PersonId() ?? 0, cancellationToken);
        Membership = await readMembership.RunAsync(User.PersonId() ?? 0, cancellationToken);
        updates = await readOffers.RunAsync([.. Mine.Libraries.SelectMany(l => l.Releases).Select(r => r.ReleaseId)], User.PersonId(), cancellationToken);
    }

    public async Task<IActionResult> OnPostAsync(long release, long? from, CancellationToken cancellationToken)
    {
        switch (await makeLink.RunAsync(release, User.PersonId(), from, cancellationToken))
        {
            case MakeLinkOutcome.Made made:
                Response.Headers.Location = Request.PathBase + made.Path;
                return StatusCode(StatusCodes.Status303SeeOther);
            case MakeLinkOutcome.Refused refused:
                Refused = refused.Why;
                Response.StatusCode = StatusCodes.Status403Forbidden;
                await OnGetAsync(cancellationToken);
                return Page();
            case MakeLinkOutcome.NoUpdate none:
                NoUpdate = none.Why;
                Response.StatusCode = StatusCodes.Status409Conflict;
                await OnGetAsync(cancellationToken);
                return Page();
            default:
                throw new InvalidOperationException("A link is made or refused.");
        }
    }
}
