using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>What a release changed since another version, the number that asks for, and the changes drafted in words.</summary>
public sealed class ChangesModel(ReadRelease read, ReadComparison readComparison, ShopView shop) : ReleasePage(read, shop)
{
    /// <summary>As many changes stand in the table; the rest is in the file.</summary>
    public const int MostShown = 500;

    public ComparisonReading Comparison { get; private set; } = null!;

    public ChangeStrip? Strip { get; private set; }

    /// <summary>It is on its way: asked for, or woken by the check that just ended.</summary>
    public bool IsOnTheWay => Comparison is { From: not null, Outcome: null, Trouble: null, StoppedAt: null } && Story.HasSheet || Comparison.IsAsked;

    public Task<IActionResult> OnGetAsync(long? since, CancellationToken cancellationToken) => ShowChangesAsync(since, cancellationToken);

    public async Task<IActionResult> OnPostCompareAsync(
        long since, [FromServices] AskForComparison ask, [FromServices] JobChain chain, CancellationToken cancellationToken)
    {
        switch (await ask.RunAsync(Id, since, cancellationToken))
        {
            case AskForComparisonOutcome.Asked:
                chain.CompareSoon(Id, since);
                return Redirect($"{AddressOf(StoryPage.Changes)}?since={since}");
            case AskForComparisonOutcome.NotChecked:
                Problems = new FormProblems(T("They were not compared; both versions are kept as they are."), [new Refusal("", T("The folder has not been checked since it last changed. Check it first."))]);
                return await ShowChangesAsync(null, cancellationToken);
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostStopComparingAsync(long since, [FromServices] StopComparison stop, CancellationToken cancellationToken)
    {
        switch (await stop.RunAsync(Id, since, cancellationToken))
        {
            case StopComparisonOutcome.Stopped when await ShowAsync(cancellationToken) is PageResult && Story.IsSealing:
                TempData["Said"] = T("Comparing was stopped; the version is sealed without it.");
                return Redirect(AddressOf(StoryPage.Seal));
            case StopComparisonOutcome.Stopped:
                break;
            case StopComparisonOutcome.NotRunning ended:
                TempData["Said"] = ended.Message;
                break;
            default:
                return NotFound();
        }
        return Redirect($"{AddressOf(StoryPage.Changes)}?since={since}");
    }

    public async Task<IActionResult> OnPostTakeAsync(long since, [FromServices] TakeDraftedChanges take, CancellationToken cancellationToken)
    {
        switch (await take.RunAsync(Id, since, cancellationToken))
        {
            case EditOutcome.Saved:
                TempData["Said"] = T("They stand in the words now. Read them over, and say what only you know.");
                return Redirect(AddressOf(StoryPage.Words));
            case EditOutcome.Refused refused:
                Problems = new FormProblems(T("They were not taken over; your words are kept as they are."), refused.Refusals);
                return await ShowChangesAsync(since, cancellationToken);
            case EditOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("They were not taken over."));
                return await ShowChangesAsync(since, cancellationToken);
            default:
                TempData["Warned"] = T("The folder changed since these versions were compared. Look again in a moment.");
                return Redirect(AddressOf(StoryPage.Changes));
        }
    }

    public async Task<IActionResult> OnPostNumberAsync(string number, [FromServices] RenumberRelease renumber, CancellationToken cancellationToken)
    {
        switch (await renumber.RunAsync(Id, number, why: null, cancellationToken))
        {
            case EditOutcome.Saved:
                TempData["Said"] = T($"It is version {number} now.");
                return Redirect(AddressOf(StoryPage.Changes));
            case EditOutcome.Refused refused:
                Problems = new FormProblems(T("The number was not changed; it keeps the one it has."), [.. refused.Refusals.Select(r => new Refusal("", r.Words))]);
                return await ShowChangesAsync(null, cancellationToken);
            case EditOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("The number was not changed."));
                return await ShowChangesAsync(null, cancellationToken);
            default:
                return NotFound();
        }
    }

    private async Task<IActionResult> ShowChangesAsync(long? since, CancellationToken cancellationToken)
    {
        if (await readComparison.RunAsync(Id, since, cancellationToken) is not { } comparison)
            return NotFound();
        Comparison = comparison;
        var page = await ShowAsync(cancellationToken);
        if (Story is not null && comparison.Summary is { } summary)
            Strip = ChangeStrip.Of(summary, Release.LowestKey, Release.HighestKey);
        return page;
    }
}
