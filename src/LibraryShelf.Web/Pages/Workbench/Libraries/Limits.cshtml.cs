using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>The limits of a library: what its recordings are judged by.</summary>
public sealed class LimitsModel(ReadLibrary read, EditLimits edit, JobChain chain) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string Slug { get; set; } = "";

    public Library Library { get; private set; } = null!;

    public FormProblems Problems { get; private set; } = FormProblems.None;

    /// <summary>The limits the form was filled from.</summary>
    public string FilledFrom { get; private set; } = "";

    private Dictionary<string, string?> typed = [];

    /// <summary>As typed, or as it stands; empty for the default.</summary>
    public string? Typed(Limit limit) => typed.GetValueOrDefault(limit.Name);

    public Task<IActionResult> OnGetAsync(CancellationToken cancellationToken) => ShowAsync(null, cancellationToken);

    public async Task<IActionResult> OnPostAsync(string? filledFrom, CancellationToken cancellationToken)
    {
        var sent = Limit.All.ToDictionary(l => l.Name, l => (string?)Request.Form[l.Name], StringComparer.Ordinal);
        switch (await edit.RunAsync(Slug, sent, filledFrom ?? "", cancellationToken))
        {
            case EditLimitsOutcome.Saved saved:
                if (saved.JudgedAnew is { } release)
                    chain.CheckSoon(release);
                TempData["Said"] = saved.JudgedAnew is null ? T("The limits are saved.") : T("The limits are saved, and the version in work is being judged by them.");
                return Redirect($"/workbench/libraries/{Slug}");
            case EditLimitsOutcome.Refused refused:
                Problems = FormProblems.NotSaved(refused.Refusals);
                return await ShowAsync(sent, cancellationToken, filledFrom);
            case EditLimitsOutcome.ChangedMeanwhile:
                Problems = FormProblems.SavedElsewhere(T("these limits"));
                return await ShowAsync(sent, cancellationToken);
            default:
                return NotFound();
        }
    }

    private async Task<IActionResult> ShowAsync(Dictionary<string, string?>? sent, CancellationToken cancellationToken, string? filledFrom = null)
    {
        if (await read.RunAsync(Slug, cancellationToken) is not { } work)
            return NotFound();
        Library = work.Library;
        FilledFrom = filledFrom ?? Library.Limits;
        LimitsText.TryRead(Library.Limits, out var limits, out _);
        typed = sent ?? Limit.All.Where(l => !l.Get(limits).Equals(l.Get(LibraryLimits.Default)))
            .ToDictionary(l => l.Name, l => (string?)LimitWords.Number(l.Get(limits)), StringComparer.Ordinal);
        return Page();
    }
}
