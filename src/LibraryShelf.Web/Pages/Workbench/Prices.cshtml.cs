using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Another price for those who are members already: looked at first, then announced.</summary>
internal sealed class PricesModel(ReadPrices read, ChangePrices change, CallOffPrices callOff, JobChain jobs) : PageModel
{
    [BindProperty] public long From { get; set; }

    [BindProperty] public long To { get; set; }

    [BindProperty] public string? FirstDay { get; set; }

    [BindProperty] public string? Reason { get; set; }

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public PricesPage Prices { get; private set; } = new([], [], default, 0);

    /// <summary>What is about to be announced: the first of two presses.</summary>
    public (Plan From, Plan To, int Payers)? Looked { get; private set; }

    public (string FieldId, string Words)? Problem { get; private set; }

    public string Earliest => LocalDatePattern.Iso.Format(Prices.EarliestDay);

    /// <summary>Null: not a day.</summary>
    public DateOnly? Day => DateOnly.TryParseExact(FirstDay?.Trim(), "yyyy-MM-dd", out var day) ? day : null;

    public string? ErrorOf(string field) => Problem is { } problem && problem.FieldId == field ? problem.Words : null;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Prices = await read.RunAsync(cancellationToken);
        FirstDay ??= Earliest;
    }

    public async Task<IActionResult> OnPostLookAsync(CancellationToken cancellationToken)
    {
        await OnGetAsync(cancellationToken);
        var (from, to) = (Prices.Plans.FirstOrDefault(p => p.Plan.Id == From), Prices.Plans.FirstOrDefault(p => p.Plan.Id == To));
        if (Day is not { } day)
            return Refuse(("FirstDay", T("Write the day as 2027-03-31.")));
        if (day < Prices.EarliestDay.ToDateOnly())
            return Refuse(WordsOf(ChangePricesOutcome.TooSoon));
        if (string.IsNullOrWhiteSpace(Reason))
            return Refuse(WordsOf(ChangePricesOutcome.NoReason));
        if (from is null || to is null || from.Plan.Id == to.Plan.Id || from.Plan.Months != to.Plan.Months || from.Plan.Currency != to.Plan.Currency)
            return Refuse(WordsOf(ChangePricesOutcome.NotTwoPlans));
        Looked = (from.Plan, to.Plan, from.Payers);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        var outcome = Day is { } day ? await change.RunAsync(new NewPrice(From, To, day, Reason), cancellationToken) : ChangePricesOutcome.TooSoon;
        if (outcome == ChangePricesOutcome.Announced)
        {
            jobs.MoneySoon();
            return Redirect("/workbench/membership/prices?done=announced");
        }
        await OnGetAsync(cancellationToken);
        return Refuse(WordsOf(outcome));
    }

    public async Task<IActionResult> OnPostCallOffAsync(long id, CancellationToken cancellationToken)
    {
        var isOff = await callOff.RunAsync(id, cancellationToken);
        jobs.MailSoon();
        return Redirect("/workbench/membership/prices?done=" + (isOff ? "off" : "none"));
    }

    private PageResult Refuse((string FieldId, string Words) problem)
    {
        Problem = problem;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }

    private (string FieldId, string Words) WordsOf(ChangePricesOutcome outcome) => outcome switch
    {
        ChangePricesOutcome.TooSoon => ("FirstDay", T($"That leaves people too little time: {Words.Dates.Day(Prices.EarliestDay)} at the earliest.")),
        ChangePricesOutcome.NoReason => ("Reason", T($"Say why, in at most {ChangePrices.LongestReason} letters: it stands in the mail.")),
        ChangePricesOutcome.NobodyPaysIt => ("FirstDay", T("Nobody pays by the old plan who is not waiting for another price already.")),
        _ => ("FirstDay", T("Choose two different plans of the same length, and a new one that is offered.")),
    };
}
