using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>The second of two presses: says what withdrawing a version does, asks why, and does it.</summary>
internal sealed class WithdrawModel(ReadRelease read, ReadPublishing readPublishing, ShopView shop) : ReleasePage(read, shop)
{
    public PublishStanding Publishing { get; private set; } = null!;

    /// <summary>A refused reason, as typed.</summary>
    public string? Reason { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (await readPublishing.RunAsync(Id, cancellationToken) is not { } publishing)
            return NotFound();
        Publishing = publishing;
        return await ShowAsync(cancellationToken);
    }

    public async Task<IActionResult> OnPostAsync(
        string? reason, [FromServices] WithdrawRelease withdraw, [FromServices] PublicAddress address, [FromServices] JobChain chain,
        CancellationToken cancellationToken)
    {
        switch (await withdraw.RunAsync(Id, reason, address.ForMail(Request), cancellationToken))
        {
            case WithdrawReleaseOutcome.Withdrawn done:
                chain.TellSoon(Id);
                // The version below it may be what the page plays now.
                chain.ListenSoon();
                TempData["Said"] = done.Told switch
                {
                    0 => T("It is withdrawn. Nobody had fetched it while signed in, so nobody is written to."),
                    1 => T($"It is withdrawn. {Plural.Opening(done.Told, "person")} is told by mail."),
                    _ => T($"It is withdrawn. {Plural.Opening(done.Told, "person")} are told by mail."),
                };
                return Redirect(AddressOf(StoryPage.Seal));
            case WithdrawReleaseOutcome.Refused refused:
                Problems = new FormProblems(T("It was not withdrawn; what you typed is kept below."), [refused.Refusal]);
                break;
            case WithdrawReleaseOutcome.NotOut:
                TempData["Warned"] = T("It is neither on the shelf nor with chosen people any more; nothing was changed.");
                return Redirect(AddressOf(StoryPage.Seal));
            case WithdrawReleaseOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("It was not withdrawn."));
                break;
            default:
                return NotFound();
        }
        Reason = reason;
        return await OnGetAsync(cancellationToken);
    }
}
