using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A release's folder: sending it, what has arrived, and asking for the check.</summary>
public sealed class FolderModel(ReadRelease read, ReadManifest readManifest, ShopView shop) : ReleasePage(read, shop)
{
    /// <summary>Which page of the list of files, from 0.</summary>
    [BindProperty(SupportsGet = true)]
    public int Leaf { get; set; }

    public IReadOnlyList<ManifestLine> Lines { get; private set; } = [];

    public int First => Leaf * ReadManifest.PageSize;

    public int LastPage => Math.Max(0, Story.Files - 1) / ReadManifest.PageSize;

    public Task<IActionResult> OnGetAsync(CancellationToken cancellationToken) => ShowFolderAsync(cancellationToken);

    public async Task<IActionResult> OnPostCheckAsync([FromServices] AskForCheck ask, [FromServices] JobChain chain, CancellationToken cancellationToken)
    {
        switch (await ask.RunAsync(Id, cancellationToken))
        {
            case AskForCheckOutcome.Asked:
                chain.CheckSoon(Id);
                return Redirect(AddressOf(StoryPage.Sheet));
            case AskForCheckOutcome.StillOnTheWay notYet:
                Problems = NotChecked(notYet.Message);
                return await ShowFolderAsync(cancellationToken);
            case AskForCheckOutcome.NotADraft settled:
                // Asked for by the end of an unpacking, or in another window: what she wants is there.
                TempData["Said"] = settled.Message;
                return Redirect(AddressOf(StoryPage.Sheet));
            case AskForCheckOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("The check was not begun."));
                return await ShowFolderAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostStopCheckAsync([FromServices] StopCheck stop, CancellationToken cancellationToken)
    {
        switch (await stop.RunAsync(Id, cancellationToken))
        {
            case StopCheckOutcome.Stopped:
                return Redirect(AddressOf(StoryPage.Folder));
            case StopCheckOutcome.NotRunning ended:
                TempData["Said"] = ended.Message;
                return Redirect(AddressOf(StoryPage.Sheet));
            case StopCheckOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("The check was not stopped."));
                return await ShowFolderAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostStopUnpackingAsync([FromServices] StopUnpacking stop, [FromServices] JobChain chain, CancellationToken cancellationToken)
    {
        switch (await stop.RunAsync(Id, cancellationToken))
        {
            case StopUnpackingOutcome.Stopped stopped:
                foreach (var upload in stopped.UploadIds)
                    chain.UnpackSoon(upload);
                return Redirect(AddressOf(StoryPage.Folder));
            case StopUnpackingOutcome.NotRunning:
                TempData["Said"] = T("No zip was being unpacked any more, so nothing was stopped. What the draft holds is below.");
                return Redirect(AddressOf(StoryPage.Folder));
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostDiscardAsync([FromServices] DiscardDraft discard, [FromServices] ReadRelease read, CancellationToken cancellationToken)
    {
        var slug = (await read.RunAsync(Id, cancellationToken))?.Release.Library.Slug;
        switch (await discard.RunAsync(Id, cancellationToken))
        {
            case EditOutcome.Saved:
                TempData["Said"] = T("The version is discarded. Nothing on the shelf has changed.");
                return Redirect("/workbench/libraries/" + slug);
            case EditOutcome.Refused refused:
                Problems = new FormProblems(T("It was not discarded; all of it is kept."), refused.Refusals);
                return await ShowFolderAsync(cancellationToken);
            case EditOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("It was not discarded."));
                return await ShowFolderAsync(cancellationToken);
            default:
                return NotFound();
        }
    }

    private static FormProblems NotChecked(string words) => new FormProblems(T("The check was not begun; the folder is kept as it is."), [new Refusal("", words)]);

    private async Task<IActionResult> ShowFolderAsync(CancellationToken cancellationToken)
    {
        Leaf = Math.Clamp(Leaf, 0, 10_000);
        Lines = await readManifest.RunAsync(Id, Leaf, cancellationToken);
        return await ShowAsync(cancellationToken);
    }
}
