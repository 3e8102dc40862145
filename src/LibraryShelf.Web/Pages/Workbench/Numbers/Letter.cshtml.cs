using LibraryShelf.Core.Letters;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The maker's letter to those left behind on a box, in two presses: the first shows it and to how many it goes, the second sends it.</summary>
internal sealed class LetterModel(ReadLeftBehind read, LookAtBehindLetter look, AskForBehindLetter ask, JobChain jobs) : PageModel
{
    [BindProperty] public string? Words { get; set; }

    /// <summary>The version the letter was shown of; a newer one meanwhile is another letter.</summary>
    [BindProperty] public long ReleaseId { get; set; }

    public LeftBehind Behind { get; private set; } = null!;

    public BehindLook? Look { get; private set; }

    public string? Problem { get; private set; }

    public async Task<IActionResult> OnGetAsync(string slug, CancellationToken cancellationToken) => await LoadAsync(slug, cancellationToken) ? Page() : NotFound();

    public async Task<IActionResult> OnPostLookAsync(string slug, CancellationToken cancellationToken)
    {
        if (!await LoadAsync(slug, cancellationToken))
            return NotFound();
        if ((Words ?? "").Length > AskForBehindLetter.MostWords)
            Refuse(BehindLetterOutcome.TooLong);
        else
            Look = await look.RunAsync(Behind.LatestId, Words ?? "", cancellationToken);
        return Page();
    }

    public async Task<IActionResult> OnPostSendAsync(string slug, CancellationToken cancellationToken)
    {
        var outcome = await ask.RunAsync(ReleaseId, Words ?? "", cancellationToken);
        if (outcome == BehindLetterOutcome.Asked)
        {
            jobs.TellSoon(ReleaseId);
            return Redirect(Url.Page("Versions", new { library = slug }) + "#left-behind");
        }
        if (!await LoadAsync(slug, cancellationToken))
            return NotFound();
        Refuse(outcome);
        return Page();
    }

    private async Task<bool> LoadAsync(string slug, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(slug, null, 1, cancellationToken) is not { } behind)
            return false;
        Behind = behind;
        return true;
    }

    private void Refuse(BehindLetterOutcome why)
    {
        Response.StatusCode = StatusCodes.Status400BadRequest;
        Problem = why switch
        {
            BehindLetterOutcome.TooLong => T($"Nothing was sent: the letter is longer than {AskForBehindLetter.MostWords} letters. Make it shorter; what you wrote is still here."),
            BehindLetterOutcome.WrittenBefore => T("Nothing was sent: you have written about this version before, and nobody is written to twice about one."),
            _ => T("Nothing was sent: another version is the latest meanwhile. Look at the letter again; what you wrote is still here."),
        };
    }
}
