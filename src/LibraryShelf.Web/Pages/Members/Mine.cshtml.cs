using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>What is theirs: what is new, every version the signed-in person may download now and why, and where they are signed in.</summary>
[Authorize, EnableRateLimiting(RateLimits.Links)]
internal sealed class MineModel(
    ReadMine read, ReadMyMembership readMembership, ReadComingPrice readPrice, ReadUpdateOffers readOffers, ReadMyLinks readLinks, ReadMyDrops readDrops, ReadNextDrop readNext, ReadDevices readDevices, MarkVisit mark) : PageModel
{
    public ComingPrice? ComingPrice { get; private set; }

    public MyMembership Membership { get; private set; } = new(null, null, MembershipStanding.Left, []);

    public Mine Mine { get; private set; } = new(false, null, []);

    /// <summary>The last moment of the visit before this one; null: this is the first.</summary>
    public DateTimeOffset? VisitedBefore { get; private set; }

    /// <summary>What came out since then.</summary>
    public IReadOnlyList<MyLibrary> News { get; private set; } = [];

    public IReadOnlyList<MyLink> Links { get; private set; } = [];

    /// <summary>Out, and theirs at least in part; newest month first.</summary>
    public IReadOnlyList<MyDrop> Drops { get; private set; } = [];

    public DropNews DropNews { get; private set; } = DropNews.None;

    public IReadOnlyList<Device> Devices { get; private set; } = [];

    public MayDownloadWhy? Refused { get; private set; }

    /// <summary>Why there is no update from the version that was chosen; null when none was asked for.</summary>
    public string? NoUpdate { get; private set; }

    /// <summary>What was pressed is not there any more.</summary>
    public string? Gone { get; private set; }

    private UpdateOffers updates = UpdateOffers.None;

    private long Me => User.PersonId() ?? 0;

    /// <summary>The update from the version this person has; null when they have none below it.</summary>
    public UpdateOffer? UpdateTo(MyRelease release) => updates.ByRelease.GetValueOrDefault(release.ReleaseId) is { IsYours: true } offer ? offer : null;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Mine = await read.RunAsync(Me, cancellationToken);
        Membership = await readMembership.RunAsync(Me, cancellationToken);
        ComingPrice = await readPrice.RunAsync(User.PersonId() ?? 0, cancellationToken);
        updates = await readOffers.RunAsync([.. Mine.Libraries.SelectMany(l => l.Releases).Select(r => r.ReleaseId)], User.PersonId(), cancellationToken);
        VisitedBefore = await mark.RunAsync(Me, IsSeen(), cancellationToken);
        News = Mine.NewSince(VisitedBefore);
        Links = await readLinks.RunAsync(Me, cancellationToken);
        Drops = await readDrops.RunAsync(Me, cancellationToken);
        DropNews = await readNext.RunAsync(cancellationToken);
        Devices = await readDevices.RunAsync(Me, cancellationToken);
    }

    public async Task<IActionResult> OnPostAsync(long release, long? from, [FromServices] MakeLink makeLink, CancellationToken cancellationToken)
    {
        switch (await makeLink.RunAsync(release, User.PersonId(), from, cancellationToken))
        {
            case MakeLinkOutcome.Made made:
                Response.Headers.Location = Request.PathBase + made.Path;
                return StatusCode(StatusCodes.Status303SeeOther);
            case MakeLinkOutcome.Refused refused:
                Refused = refused.Why;
                return await AgainAsync(StatusCodes.Status403Forbidden, cancellationToken);
            case MakeLinkOutcome.NoUpdate none:
                NoUpdate = none.Why;
                return await AgainAsync(StatusCodes.Status409Conflict, cancellationToken);
            default:
                throw new InvalidOperationException("A link is made or refused.");
        }
    }

    /// <param name="month">"2026-12".</param>
    /// <param name="makeLink">Makes it.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<IActionResult> OnPostMonthAsync(string? month, [FromServices] MakeDropLink makeLink, CancellationToken cancellationToken)
    {
        if (!YearMonthPattern.Iso.Parse(month ?? "").TryGetValue(default, out var chosen))
            return NotFound();
        switch (await makeLink.RunAsync(chosen, User.PersonId(), cancellationToken))
        {
            case MakeDropLinkOutcome.Made made:
                Response.Headers.Location = Request.PathBase + made.Link.Path;
                return StatusCode(StatusCodes.Status303SeeOther);
            case MakeDropLinkOutcome.Refused refused:
                Gone = refused.Words;
                return await AgainAsync(refused.IsTheirs ? StatusCodes.Status409Conflict : StatusCodes.Status403Forbidden, cancellationToken);
            default:
                throw new InvalidOperationException("A link is made or refused.");
        }
    }

    public async Task<IActionResult> OnPostCloseLinkAsync(string? id, [FromServices] CloseMyLink close, CancellationToken cancellationToken)
    {
        if (await close.RunAsync(Me, id, cancellationToken))
            return Back(T("The link is closed: the next request with it gets nothing. What you have is yours."), "links");
        Gone = T("That link is closed already, or its time is over. Nothing was changed.");
        return await AgainAsync(StatusCodes.Status404NotFound, cancellationToken);
    }

    public async Task<IActionResult> OnPostEndDeviceAsync(long id, [FromServices] EndDevice end, CancellationToken cancellationToken)
    {
        if (await end.RunAsync(Me, id, cancellationToken))
            return Back(T("Signed out there. It takes a minute at most until the device notices."), "devices");
        Gone = T("You are not signed in there any more. Nothing was changed.");
        return await AgainAsync(StatusCodes.Status404NotFound, cancellationToken);
    }

    public async Task<IActionResult> OnPostEndOthersAsync([FromServices] EndOtherDevices end, CancellationToken cancellationToken)
    {
        var ended = await end.RunAsync(Me, User.DeviceId(), cancellationToken);
        return Back(ended == 0
            ? T("You were signed in nowhere else. Nothing was changed.")
            : ended == 1
                ? T("Signed out on one other device. It takes a minute at most until it notices.")
                : T($"Signed out on {Plural.InWords(ended, "other device")}. It takes a minute at most until they notice."), "devices");
    }

    private RedirectResult Back(string said, string section)
    {
        // Said beside what was pressed: the top of this page may be far above it.
        (TempData["Said"], TempData["SaidOf"]) = (said, section);
        return Redirect("/mine#" + section);
    }

    private async Task<PageResult> AgainAsync(int status, CancellationToken cancellationToken)
    {
        Response.StatusCode = status;
        await OnGetAsync(cancellationToken);
        return Page();
    }

    /// <summary>A browser that fetches ahead (Sec-Purpose, Fetch standard §3.7) or asks for the head alone shows nobody anything.</summary>
    private bool IsSeen() =>
        HttpMethods.IsGet(Request.Method) && !Request.Headers["Sec-Purpose"].ToString().Contains("prefetch", StringComparison.OrdinalIgnoreCase);
}
