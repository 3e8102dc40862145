using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Faults;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>A library at the workbench: its releases, who it is for, its words.</summary>
public sealed class LibraryModel(ReadLibrary read, ReadFaults readFaults, ShopView shop) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string Slug { get; set; } = "";

    public LibraryAtWork Work { get; private set; } = null!;

    public FaultList? Faults { get; private set; }

    public LibraryForm Form { get; private set; } = new();

    /// <summary>A refused number, as typed.</summary>
    public string? Number { get; private set; }

    public FormProblems Problems { get; private set; } = FormProblems.None;

    public DateTimeZone Zone { get; private set; } = DateTimeZone.Utc;

    public Task<IActionResult> OnGetAsync(CancellationToken cancellationToken) => ShowAsync(null, cancellationToken);

    public async Task<IActionResult> OnPostStartAsync(string? number, [FromServices] StartRelease start, CancellationToken cancellationToken)
    {
        switch (await start.RunAsync(Slug, number, cancellationToken))
        {
            case StartReleaseOutcome.Started started:
                return Redirect($"/workbench/releases/{started.ReleaseId}");
            case StartReleaseOutcome.AlreadyOpen open:
                TempData["Warned"] = T($"Version {open.Number} is in work already, so no other was started. Go on with it here, or discard it.");
                return Redirect($"/workbench/releases/{open.ReleaseId}");
            case StartReleaseOutcome.Refused refused:
                Number = number;
                Problems = new FormProblems(T("No version was started; what you typed is kept below."), [refused.Refusal]);
                return await ShowAsync(null, cancellationToken);
            case StartReleaseOutcome.ChangedMeanwhile:
                Number = number;
                Problems = FormProblems.ChangedMeanwhile(T("No version was started."));
                return await ShowAsync(null, cancellationToken);
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostDecideAsync(Audience audience, [FromServices] DecideAudience decide, CancellationToken cancellationToken)
    {
        var outcome = await decide.RunAsync(Slug, audience, cancellationToken);
        if (outcome == DecideAudienceOutcome.NoSuchLibrary)
            return NotFound();
        if (outcome == DecideAudienceOutcome.ChangedMeanwhile)
        {
            Problems = FormProblems.ChangedMeanwhile(T("Nothing was decided."));
            return await ShowAsync(null, cancellationToken);
        }
        TempData["Said"] = (outcome, audience) switch
        {
            (DecideAudienceOutcome.Decided, Audience.Free) => T("From now on it is for everyone. People keep what they have."),
            (DecideAudienceOutcome.Decided, _) => T("From now on it is for members. People keep what they have."),
            (_, Audience.Free) => T("It is for everyone already; nothing was changed."),
            _ => T("It is for members already; nothing was changed."),
        };
        return Redirect("/workbench/libraries/" + Slug);
    }

    public async Task<IActionResult> OnPostWordsAsync([FromForm] LibraryForm form, [FromServices] EditLibrary edit, CancellationToken cancellationToken)
    {
        switch (await edit.RunAsync(Slug, form.ToWords(), cancellationToken))
        {
            case EditOutcome.Saved:
                TempData["Said"] = T("The words are saved.");
                return Redirect("/workbench/libraries/" + Slug);
            case EditOutcome.Refused refused:
                Problems = FormProblems.NotSaved(refused.Refusals);
                return await ShowAsync(form, cancellationToken);
            case EditOutcome.ChangedMeanwhile:
                Problems = FormProblems.SavedElsewhere(T("this library"));
                return await ShowAsync(form, cancellationToken, again: true);
            default:
                return NotFound();
        }
    }

    private async Task<IActionResult> ShowAsync(LibraryForm? typed, CancellationToken cancellationToken, bool again = false)
    {
        if (await read.RunAsync(Slug, cancellationToken) is not { } work)
            return NotFound();
        Work = work;
        Faults = await readFaults.RunAsync(Slug, cancellationToken);
        Form = typed ?? LibraryForm.Of(work.Library);
        // She has been told of the other words now: saving once more is a decision.
        if (again)
            Form.FilledFrom = LibraryWords.Of(work.Library).Mark();
        Zone = (await shop.GetAsync(cancellationToken)).Zone;
        return Page();
    }
}
