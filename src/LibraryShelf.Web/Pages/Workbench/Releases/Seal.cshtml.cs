using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>Where a release is sealed, and published at once or later.</summary>
public sealed class SealModel(ReadRelease read, ReadSealing readSealing, JobChain chain, ShopView shop) : ReleasePage(read, shop)
{
    public SealStanding Standing { get; private set; } = null!;

    public Task<IActionResult> OnGetAsync(CancellationToken cancellationToken) => ShowSealingAsync(cancellationToken);

    public Task<IActionResult> OnPostSealAsync([FromServices] AskForSeal ask, CancellationToken cancellationToken) =>
        AskAsync(ask, null, cancellationToken);

    public Task<IActionResult> OnPostSealAndPublishAsync(Audience audience, [FromServices] AskForSeal ask, CancellationToken cancellationToken) =>
        AskAsync(ask, audience, cancellationToken);

    public async Task<IActionResult> OnPostPublishAsync(Audience audience, [FromServices] PublishRelease publish, CancellationToken cancellationToken)
    {
        switch (await publish.RunAsync(Id, audience, cancellationToken))
        {
            case PublishReleaseOutcome.Published:
                TempData["Said"] = "It is on the shelf.";
                return Redirect(AddressOf(StoryPage.Seal));
            case PublishReleaseOutcome.AlreadyPublished:
                return Redirect(AddressOf(StoryPage.Seal));
            case PublishReleaseOutcome.NotSealed:
                Problems = new FormProblems("It was not published.", [new Refusal("", "Only a sealed version that has not been on the shelf can be published.")]);
                return await ShowSealingAsync(cancellationToken);
            case PublishReleaseOutcome.ArchiveDamaged:
                Problems = new FormProblems("It was not published.", [new Refusal("", PublishRelease.DamagedWords)]);
                return await ShowSealingAsync(cancellationToken);
            case PublishReleaseOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile("It was not published.");
                return await ShowSealingAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostReadAgainAsync([FromServices] AskForDigest ask, CancellationToken cancellationToken)
    {
        if (await ask.RunAsync(Id, cancellationToken) is { } archiveId)
            chain.DigestSoon(archiveId);
        return Redirect(AddressOf(StoryPage.Seal));
    }

    private async Task<IActionResult> AskAsync(AskForSeal ask, Audience? publishFor, CancellationToken cancellationToken)
    {
        switch (await ask.RunAsync(Id, publishFor, cancellationToken))
        {
            case AskForSealOutcome.Asked:
                chain.SealSoon(Id);
                return Redirect(AddressOf(StoryPage.Seal));
            case AskForSealOutcome.AlreadyAsked:
                return Redirect(AddressOf(StoryPage.Seal));
            case AskForSealOutcome.NotReady notReady:
                Problems = new FormProblems("It was not sealed; nothing was changed.", [.. notReady.Reasons.Select(r => new Refusal("", r))]);
                return await ShowSealingAsync(cancellationToken);
            case AskForSealOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile("It was not sealed.");
                return await ShowSealingAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    private async Task<IActionResult> ShowSealingAsync(CancellationToken cancellationToken)
    {
        if (await readSealing.RunAsync(Id, cancellationToken) is not { } standing)
            return NotFound();
        Standing = standing;
        return await ShowAsync(cancellationToken);
    }
}
