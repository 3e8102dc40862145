using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>A month that slipped is credited to everybody who paid for it: looked at first, then done.</summary>
internal sealed class CreditModel(ReadCredits read, CreditMonth credit, JobChain jobs) : PageModel
{
    [BindProperty(SupportsGet = true)] public string? Month { get; set; }

    [BindProperty] public string? Reason { get; set; }

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public CreditsPage Credits { get; private set; } = new([], []);

    /// <summary>What is about to be credited: the first of two presses.</summary>
    public MonthCost? Looked { get; private set; }

    public (string FieldId, string Words)? Problem { get; private set; }

    public async Task OnGetAsync(CancellationToken cancellationToken) => Credits = await read.RunAsync(cancellationToken);

    public async Task<IActionResult> OnPostLookAsync(CancellationToken cancellationToken)
    {
        await OnGetAsync(cancellationToken);
        if (Credits.Months.FirstOrDefault(m => m.Month == Chosen()) is not { } month)
            return Refuse(CreditMonthOutcome.NobodyPaid);
        if (string.IsNullOrWhiteSpace(Reason))
            return Refuse(CreditMonthOutcome.NoReason);
        Looked = month;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        var outcome = Chosen() is { } month ? await credit.RunAsync(month, Reason, cancellationToken) : CreditMonthOutcome.NobodyPaid;
        if (outcome == CreditMonthOutcome.Decided)
        {
            jobs.MoneySoon();
            return Redirect("/workbench/membership/credit?done=decided");
        }
        await OnGetAsync(cancellationToken);
        return Refuse(outcome);
    }

    private YearMonth? Chosen() => YearMonthPattern.Iso.Parse(Month ?? "").TryGetValue(default, out var month) ? month : null;

    private PageResult Refuse(CreditMonthOutcome outcome)
    {
        Problem = ("Reason", outcome switch
        {
            CreditMonthOutcome.CreditedBefore => T("That month was credited before."),
            CreditMonthOutcome.NobodyPaid => T("Nobody has paid for that month."),
            _ => T($"Say why it slipped, in at most {CreditMonth.LongestReason} letters: it stands in the mail."),
        });
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }
}
