using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Workbench.Releases.Pictures;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A release's check sheet: how far the check is, then what it found, as a picture and as a table, and excuses.</summary>
public sealed class SheetModel(ReadRelease read, ReadSheet readSheet, ReadFaults readFaults, ShopView shop) : ReleasePage(read, shop)
{
    private (long Entry, string? Reason) typed;

    public SheetView View { get; private set; } = new();

    /// <summary>Null while there is none to show.</summary>
    public SheetReading? Sheet { get; private set; }

    /// <summary>What people told of the library; null once the release is sealed.</summary>
    public FaultList? Faults { get; private set; }

    internal SheetWords Words { get; private set; } = null!;

    internal SheetTable Table { get; private set; } = null!;

    internal PictureKeys Picture { get; private set; } = null!;

    public bool MayExcuse => !Release.IsSealed && !Story.IsSealing;

    /// <summary>A refused reason, as typed beside this entry.</summary>
    public string? Typed(long entryId) => typed.Entry == entryId ? typed.Reason : null;

    public Task<IActionResult> OnGetAsync([FromQuery] SheetView view, CancellationToken cancellationToken) => ShowSheetAsync(view, cancellationToken);

    public async Task<IActionResult> OnPostExcuseAsync(
        long entry, string? reason, [FromQuery] SheetView view, [FromServices] ExcuseFinding excuse, CancellationToken cancellationToken)
    {
        switch (await excuse.RunAsync(Id, entry, reason, cancellationToken))
        {
            case ExcuseFindingOutcome.Excused:
                TempData["Said"] = T("Excused, with your reason beside it.");
                return Redirect($"{AddressOf(StoryPage.Sheet)}{view.Query}#entry-{entry}");
            case ExcuseFindingOutcome.Refused refused:
                typed = (entry, reason);
                var field = refused.Refusal.Field.Length > 0 ? $"reason-{entry}" : "";
                Problems = new FormProblems(T("It was not excused; what you typed is kept below."), [new Refusal(field, refused.Refusal.Words)]);
                return await ShowSheetAsync(view, cancellationToken);
            case ExcuseFindingOutcome.ChangedMeanwhile:
                typed = (entry, reason);
                Problems = FormProblems.ChangedMeanwhile(T("It was not excused."));
                return await ShowSheetAsync(view, cancellationToken);
            default:
                TempData["Warned"] = T("That finding is no longer on the sheet: the folder was checked again. Look at the new sheet.");
                return Redirect(AddressOf(StoryPage.Sheet));
        }
    }

    public async Task<IActionResult> OnPostJudgeAsync([FromServices] JudgeAgain judge, [FromServices] JobChain chain, CancellationToken cancellationToken)
    {
        switch (await judge.RunAsync(Id, cancellationToken))
        {
            case JudgeAgainOutcome.Asked:
                chain.CheckSoon(Id);
                return Redirect(AddressOf(StoryPage.Sheet));
            case JudgeAgainOutcome.Closed closed:
                TempData["Warned"] = closed.Message;
                return Redirect(AddressOf(StoryPage.Sheet));
            case JudgeAgainOutcome.ChangedMeanwhile:
                Problems = FormProblems.ChangedMeanwhile(T("It was not judged again."));
                return await ShowSheetAsync(new SheetView(), cancellationToken);
            default:
                return NotFound();
        }
    }

    private async Task<IActionResult> ShowSheetAsync(SheetView view, CancellationToken cancellationToken)
    {
        var page = await ShowAsync(cancellationToken);
        if (Story is { Release.IsSealed: false })
            Faults = await readFaults.RunAsync(Release.Library.Slug, cancellationToken);
        if (Story is null || !Story.HasSheet || await readSheet.RunAsync(Id, cancellationToken) is not { } sheet)
            return page;
        View = view;
        Sheet = sheet;
        Words = new SheetWords(sheet);
        Table = new SheetTable(sheet, view, Words);
        Picture = new PictureKeys(sheet, view, Words);
        return page;
    }
}
