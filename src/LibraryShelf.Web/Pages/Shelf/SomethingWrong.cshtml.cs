using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Workbench;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Where someone tells the maker of a fault in a version that is open to them.</summary>
[EnableRateLimiting(RateLimits.Faults)]
public sealed class SomethingWrongModel(ReadBox readBox, ReportFault report) : PageModel
{
    public BoxPage Box { get; private set; } = null!;

    [BindProperty] public long Release { get; set; }

    [BindProperty] public int? Key { get; set; }

    [BindProperty] public string? Recording { get; set; }

    [BindProperty] public string? Words { get; set; }

    /// <summary>Just told: "mail" when the person is written to once it is mended, else "nobody".</summary>
    [BindProperty(Name = "told", SupportsGet = true)] public string? Told { get; set; }

    public FormProblems Problems { get; private set; } = FormProblems.None;

    public bool IsSignedIn => User.PersonId() is not null;

    /// <summary>Those this person may have, given early first.</summary>
    public IReadOnlyList<ShelfRelease> Versions => [.. Box.Early.Concat(Box.Versions).Where(v => v.MayTake).Select(v => v.Release)];

    /// <summary>Of all these versions; every key of MIDI where none is known.</summary>
    public int LowestKey => Versions.Min(v => v.Row.LowestKey) ?? 0;

    public int HighestKey => Versions.Max(v => v.Row.HighestKey) ?? 127;

    public async Task<IActionResult> OnGetAsync(string slug, CancellationToken cancellationToken)
    {
        if (await readBox.RunAsync(slug, User.PersonId(), cancellationToken) is not { } box)
            return NotFound();
        Box = box;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(string slug, CancellationToken cancellationToken)
    {
        switch (await report.RunAsync(slug, new ToldFault(Release, Key, Recording, Words), User.PersonId(), cancellationToken))
        {
            case ReportFaultOutcome.Reported reported:
                return Redirect($"/boxes/{slug}/something-wrong?told=" + (reported.IsTold ? "mail" : "nobody"));
            case ReportFaultOutcome.NotTheirs:
                Problems = new FormProblems(T("Nothing was sent. What you typed is kept below."),
                    [new Refusal("Release", T("That version is not open to you now. Choose another one in which you heard it."))]);
                Response.StatusCode = StatusCodes.Status403Forbidden;
                break;
            case ReportFaultOutcome.Refused refused:
                Problems = new FormProblems(T("Nothing was sent yet. What you typed is kept below."), refused.Refusals);
                Response.StatusCode = StatusCodes.Status400BadRequest;
                break;
            default:
                throw new InvalidOperationException("A fault is kept or refused.");
        }
        return await OnGetAsync(slug, cancellationToken);
    }
}
