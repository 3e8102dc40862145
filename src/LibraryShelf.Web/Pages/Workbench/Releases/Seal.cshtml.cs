using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>Where a release is sealed, and published at once or later, or given to chosen people before.</summary>
internal sealed class SealModel(
    ReadRelease read, ReadSealing readSealing, ReadPublishing readPublishing, FindDropOf findDrop, PublicAddress address, JobChain chain, ShopView shop)
    : ReleasePage(read, shop)
{
    public PublishStanding Publishing { get; private set; } = null!;

    /// <summary>The drop it stands in, planned or sent; null: none.</summary>
    public Drop? Drop { get; private set; }

    /// <summary>Who it was to be for when it was refused, as chosen.</summary>
    public Audience? Chosen { get; private set; }

    /// <summary>Refused addresses, as typed.</summary>
    public string? Addresses { get; private set; }

    public SealStanding Standing { get; private set; } = null!;

    /// <summary>How far what goes on behind a sealed version is; null: nothing does.</summary>
    public HowFar? Far => Standing.Archive is null ? null : FarWords.Behind(Story, Standing);

    public Task<IActionResult> OnGetAsync(CancellationToken cancellationToken) => ShowSealingAsync(cancellationToken);

    public Task<IActionResult> OnPostSealAsync([FromServices] AskForSeal ask, CancellationToken cancellationToken) =>
        AskAsync(ask, null, declares: false, cancellationToken);

    public Task<IActionResult> OnPostSealAndPublishAsync(Audience audience, bool declares, [FromServices] AskForSeal ask, CancellationToken cancellationToken) =>
        AskAsync(ask, audience, declares, cancellationToken);

    public async Task<IActionResult> OnPostPublishAsync(Audience audience, bool declares, [FromServices] PublishRelease publish, CancellationToken cancellationToken)
    {
        Chosen = audience;
        switch (await publish.RunAsync(Id, audience, declares, address.ForMail(Request), cancellationToken))
        {
            case PublishReleaseOutcome.Published:
                chain.TellSoon(Id);
                chain.ListenSoon();
                TempData["Said"] = T("It is on the shelf.");
                return Redirect(AddressOf(StoryPage.Seal));
            case PublishReleaseOutcome.AlreadyPublished:
                return Redirect(AddressOf(StoryPage.Seal));
            case PublishReleaseOutcome.NotSealed:
                Problems = new FormProblems(T("It was not published; nothing was changed."), [new Refusal("", T("Only a sealed version that has not been on the shelf can be published."))]);
                return await ShowSealingAsync(cancellationToken);
            case PublishReleaseOutcome.WaitsForItsDrop:
                Problems = new FormProblems(T("It was not published; nothing was changed."), [new Refusal("", T("It comes out with its drop. Take it out of the drop first, then publish it."))]);
                return await ShowSealingAsync(cancellationToken);
            case PublishReleaseOutcome.NotDeclared:
                Problems = new FormProblems(T("It was not published; nothing was changed."), [new Refusal("declares", Declaration.Missing)]);
                return await ShowSealingAsync(cancellationToken);
            case PublishReleaseOutcome.ArchiveDamaged:
                Problems = new FormProblems(T("It was not published; nothing was changed."), [new Refusal("", PublishRelease.DamagedWords)]);
                return await ShowSealingAsync(cancellationToken);
            case PublishReleaseOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("It was not published."));
                return await ShowSealingAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostEarlyAsync(string? addresses, bool declares, [FromServices] ReleaseEarly early, CancellationToken cancellationToken)
    {
        switch (await early.RunAsync(Id, addresses, declares, address.ForMail(Request), cancellationToken))
        {
            case ReleaseEarlyOutcome.Opened opened:
                chain.MailSoon();
                TempData["Said"] = opened.Added == 0
                    ? T("They had it already; nothing was changed.")
                    : T($"{Plural.Opening(opened.Added, "person")} more can fetch it now; a mail says so.");
                return Redirect(AddressOf(StoryPage.Seal) + "#early");
            case ReleaseEarlyOutcome.Refused refused:
                Addresses = addresses;
                var field = refused.Refusal.Field == "Declares" ? "declares-early" : refused.Refusal.Field;
                Problems = new FormProblems(T("It was given to nobody; what you typed is kept below."), [refused.Refusal with { Field = field }]);
                return await ShowSealingAsync(cancellationToken);
            case ReleaseEarlyOutcome.ChangedMeanwhile:
                Addresses = addresses;
                Problems = FormProblems.ChangedMeanwhile(T("It was given to nobody."));
                return await ShowSealingAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostRemoveGuestAsync(long person, [FromServices] RemoveEarlyGuest remove, CancellationToken cancellationToken)
    {
        TempData["Said"] = await remove.RunAsync(Id, person, cancellationToken) == RemoveEarlyGuestOutcome.Removed
            ? T("They can’t fetch it any more. A download that has begun may be finished; close its link to stop that too.")
            : T("They did not have it any more; nothing was changed.");
        return Redirect(AddressOf(StoryPage.Seal) + "#early");
    }

    public async Task<IActionResult> OnPostReadAgainAsync(long archive, [FromServices] AskForDigest ask, CancellationToken cancellationToken)
    {
        if (await ask.RunAsync(archive, cancellationToken))
            chain.DigestSoon(archive);
        return Redirect(AddressOf(StoryPage.Seal));
    }

    public async Task<IActionResult> OnPostStopReadingAsync(long archive, [FromServices] StopReading stop, CancellationToken cancellationToken)
    {
        if (!await stop.RunAsync(archive, cancellationToken))
            TempData["Said"] = ReadingWords.NothingToStop;
        return Redirect(AddressOf(StoryPage.Seal));
    }

    public async Task<IActionResult> OnPostHoldListeningAsync([FromServices] HoldListening hold, CancellationToken cancellationToken)
    {
        if (await hold.RunAsync(Id, cancellationToken) == HoldListeningOutcome.NothingToStop)
            TempData["Said"] = T("There was nothing to stop any more.");
        return Redirect(AddressOf(StoryPage.Seal));
    }

    public async Task<IActionResult> OnPostGoOnListeningAsync([FromServices] GoOnListening goOn, CancellationToken cancellationToken)
    {
        if (await goOn.RunAsync(Id, cancellationToken))
            chain.ListenSoon();
        return Redirect(AddressOf(StoryPage.Seal));
    }

    private async Task<IActionResult> AskAsync(AskForSeal ask, Audience? publishFor, bool declares, CancellationToken cancellationToken)
    {
        Chosen = publishFor;
        switch (await ask.RunAsync(Id, publishFor, declares, cancellationToken))
        {
            case AskForSealOutcome.Asked:
                chain.SealSoon(Id);
                return Redirect(AddressOf(StoryPage.Seal));
            case AskForSealOutcome.AlreadyAsked:
                return Redirect(AddressOf(StoryPage.Seal));
            case AskForSealOutcome.NotReady notReady:
                Problems = new FormProblems(T("It was not sealed; nothing was changed."), [.. notReady.Reasons.Select(r => new Refusal("", r))]);
                return await ShowSealingAsync(cancellationToken);
            case AskForSealOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("It was not sealed."));
                return await ShowSealingAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    private async Task<IActionResult> ShowSealingAsync(CancellationToken cancellationToken)
    {
        if (await readSealing.RunAsync(Id, cancellationToken) is not { } standing || await readPublishing.RunAsync(Id, cancellationToken) is not { } publishing)
            return NotFound();
        (Standing, Publishing, Drop) = (standing, publishing, await findDrop.RunAsync(Id, cancellationToken));
        var page = await ShowAsync(cancellationToken);
        // Sealed between the two readings: the page would show the buttons to seal it and wait for nothing. It is sealed once, so one look more will do.
        if (page is PageResult && Standing.Archive is null && Release.State is not (ReleaseState.Draft or ReleaseState.Checked))
            Standing = await readSealing.RunAsync(Id, cancellationToken) ?? Standing;
        return page;
    }
}
