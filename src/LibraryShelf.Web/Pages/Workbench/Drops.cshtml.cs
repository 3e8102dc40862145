using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The months ahead and past, what each lacks, and the day on which drops usually go out.</summary>
internal sealed class DropsModel(ReadDrops read, SetUsualDay set) : PageModel
{
    [BindProperty] public string? UsualDay { get; set; }

    [BindProperty] public string? UsualTime { get; set; }

    public DropMonths Months { get; private set; } = null!;

    public IReadOnlyList<Refusal> Refusals { get; private set; } = [];

    public string? ErrorOf(string field) => Refusals.FirstOrDefault(r => r.Field == field)?.Words;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Months = await read.RunAsync(cancellationToken);
        (UsualDay, UsualTime) = (Months.UsualDay, Months.UsualTime);
    }

    public async Task<IActionResult> OnPostUsualAsync(CancellationToken cancellationToken)
    {
        Refusals = await set.RunAsync(UsualDay, UsualTime, cancellationToken);
        if (Refusals.Count == 0)
        {
            TempData["Said"] = T("Kept. It is proposed for each month you plan from now on; what is planned already stays as it is.");
            return Redirect("/workbench/drops");
        }
        Months = await read.RunAsync(cancellationToken);
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }

    /// <summary>Where a month stands, in a few words.</summary>
    public string Standing(DropMonth month) => month switch
    {
        { IsSent: true } => T($"Out since {Dates.Day(month.Drop!.SentAt!.Value, month.Zone)}"),
        { Drop: { State: DropState.Cancelled, SlippedAt: not null }, ByHand.Count: 0 } => T("Slips, no day yet"),
        { Drop: { State: DropState.Cancelled, SlippedAt: null } } => T("Called off"),
        { IsPlanned: true } when month.DueAt <= Months.Now => month.Gaps.Count > 0 ? T("Late: something is missing") : month.IsAsking ? T("Ready: it asks you first") : T("Going out"),
        { IsPlanned: true } => DropWords.When(month.DueAt, month.Zone, Months.Now),
        { ByHand.Count: > 0 } => T("Came out by hand"),
        _ => T("Not planned"),
    };
}
