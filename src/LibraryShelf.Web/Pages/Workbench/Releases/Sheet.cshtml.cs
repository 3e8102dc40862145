using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A release's check sheet: how far the check is, then what it found, and excuses.</summary>
public sealed class SheetModel(ReadRelease read, ShopView shop) : ReleasePage(read, shop)
{
    private (long Entry, string? Reason) typed;

    /// <summary>A refused reason, as typed beside this entry.</summary>
    public string? Typed(long entryId) => typed.Entry == entryId ? typed.Reason : null;

    public Task<IActionResult> OnGetAsync(CancellationToken cancellationToken) => ShowAsync(cancellationToken);

    public async Task<IActionResult> OnPostExcuseAsync(long entry, string? reason, [FromServices] ExcuseFinding excuse, CancellationToken cancellationToken)
    {
        switch (await excuse.RunAsync(Id, entry, reason, cancellationToken))
        {
            case ExcuseFindingOutcome.Excused:
                TempData["Said"] = "Excused, with your reason beside it.";
                return Redirect($"{AddressOf(StoryPage.Sheet)}#entry-{entry}");
            case ExcuseFindingOutcome.Refused refused:
                typed = (entry, reason);
                var field = refused.Refusal.Field.Length > 0 ? $"reason-{entry}" : "";
                Problems = new FormProblems("It was not excused.", [new Refusal(field, refused.Refusal.Words)]);
                return await ShowAsync(cancellationToken);
            case ExcuseFindingOutcome.ChangedMeanwhile:
                typed = (entry, reason);
                Problems = FormProblems.ChangedMeanwhile("It was not excused.");
                return await ShowAsync(cancellationToken);
            default:
                TempData["Warned"] = "That finding is no longer on the sheet: the folder was checked again. Look at the new sheet.";
                return Redirect(AddressOf(StoryPage.Sheet));
        }
    }
}
