using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A release's notes, players, licence, credits and number.</summary>
public sealed class WordsModel(ReadRelease read, ShopView shop) : ReleasePage(read, shop)
{
    public WordsForm Form { get; private set; } = new();

    /// <summary>A refused number, as typed.</summary>
    public string? Number { get; private set; }

    /// <summary>The reason typed beside it.</summary>
    public string? Why { get; private set; }

    public async Task<IActionResult> OnGetAsync(string? add, CancellationToken cancellationToken)
    {
        var page = await ShowAsync(cancellationToken);
        if (Story is null)
            return page;
        Form = WordsForm.Of(Release);
        if (add == "player" && Release.Players.Count > 0)
            Form.Players.Add(new PlayerForm());
        return page;
    }

    public async Task<IActionResult> OnPostAsync([FromForm] WordsForm form, string? add, [FromServices] EditRelease edit, CancellationToken cancellationToken)
    {
        if (form.Refusals() is { Count: > 0 } refusals)
            return await AgainAsync(form, FormProblems.NotSaved(refusals), cancellationToken);
        switch (await edit.RunAsync(Id, form.ToWords(), cancellationToken))
        {
            case EditOutcome.Saved saved:
                TempData["Said"] = T("The words are saved.");
                if (saved.Warnings is [var warning, ..])
                    TempData["Warned"] = warning;
                return Redirect(AddressOf(StoryPage.Words) + (add == "player" ? "?add=player" : ""));
            case EditOutcome.Refused refused:
                return await AgainAsync(form, FormProblems.NotSaved(refused.Refusals), cancellationToken);
            case EditOutcome.ChangedMeanwhile:
                var page = await AgainAsync(form, FormProblems.SavedElsewhere(T("this page")), cancellationToken);
                // She has been told of the other words now: saving once more is a decision.
                Form.FilledFrom = Story is null ? null : ReleaseWords.Of(Release).Mark();
                return page;
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostNumberAsync(string? number, string? why, [FromServices] RenumberRelease renumber, CancellationToken cancellationToken)
    {
        switch (await renumber.RunAsync(Id, number ?? "", why, cancellationToken))
        {
            case EditOutcome.Saved:
                TempData["Said"] = T($"It is version {number?.Trim()} now.");
                return Redirect(AddressOf(StoryPage.Words));
            case EditOutcome.Refused refused:
                return await NumberAgainAsync(number, why, new FormProblems(T("The number was not changed; what you typed is kept below."), refused.Refusals), cancellationToken);
            case EditOutcome.ChangedMeanwhile:
                return await NumberAgainAsync(number, why, FormProblems.ChangedMeanwhile(T("The number was not changed.")), cancellationToken);
            default:
                return NotFound();
        }
    }

    private async Task<IActionResult> NumberAgainAsync(string? number, string? why, FormProblems problems, CancellationToken cancellationToken)
    {
        Problems = problems;
        (Number, Why) = (number, why);
        var page = await ShowAsync(cancellationToken);
        if (Story is not null)
            Form = WordsForm.Of(Release);
        return page;
    }

    private Task<IActionResult> AgainAsync(WordsForm form, FormProblems problems, CancellationToken cancellationToken)
    {
        Form = form.WithRow();
        Problems = problems;
        return ShowAsync(cancellationToken);
    }
}
