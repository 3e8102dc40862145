using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>What joining costs and what people agree to.</summary>
internal sealed class MembershipModel(ReadJoinTerms read, OfferPlan offer, ClosePlan close, EditJoinTerms edit, IPayments payments) : PageModel
{
    [BindProperty] public string? Price { get; set; }

    [BindProperty] public int Months { get; set; } = 1;

    [BindProperty] public bool IsTaxIncluded { get; set; }

    [BindProperty] public string? ConsentWords { get; set; }

    [BindProperty] public string? ButtonWords { get; set; }

    [BindProperty] public string? TermsVersion { get; set; }

    [BindProperty] public AfterLeaving AfterLeaving { get; set; }

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public JoinTerms Terms { get; private set; } = null!;

    public string? PriceError { get; private set; }

    /// <summary>What of the terms is too long.</summary>
    public IReadOnlyList<Refusal> Refused { get; private set; } = [];

    public string? ErrorOf(string field) => Refused.FirstOrDefault(r => r.Field == field)?.Words;

    public bool IsKeySet => payments.IsOpen;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Terms = await read.RunAsync(cancellationToken);
        (ConsentWords, ButtonWords, TermsVersion, AfterLeaving) = (Terms.ConsentWords, Terms.ButtonWords, Terms.TermsVersion, Terms.AfterLeaving);
    }

    public async Task<IActionResult> OnPostOfferAsync(CancellationToken cancellationToken)
    {
        Terms = await read.RunAsync(cancellationToken);
        var outcome = Money.Read(Price, Terms.Currency) is { } minor
            ? await offer.RunAsync(Months, minor, IsTaxIncluded, cancellationToken)
            : OfferPlanOutcome.NotAPlan;
        if (outcome == OfferPlanOutcome.Offered)
            return Redirect("/workbench/membership?done=offered");
        PriceError = outcome == OfferPlanOutcome.AlreadyOffered
            ? T("The same plan is offered already.")
            : T($"Write the price in {Terms.Currency}, such as 6 or 6.50.");
        Response.StatusCode = StatusCodes.Status400BadRequest;
        (ConsentWords, ButtonWords, TermsVersion, AfterLeaving) = (Terms.ConsentWords, Terms.ButtonWords, Terms.TermsVersion, Terms.AfterLeaving);
        return Page();
    }

    public async Task<IActionResult> OnPostCloseAsync(long id, CancellationToken cancellationToken) =>
        Redirect("/workbench/membership?done=" + (await close.RunAsync(id, cancellationToken) ? "closed" : "none"));

    public async Task<IActionResult> OnPostTermsAsync(CancellationToken cancellationToken)
    {
        if (!Enum.IsDefined(AfterLeaving))
            return BadRequest();
        Refused = await edit.RunAsync(ConsentWords, ButtonWords, TermsVersion, AfterLeaving, cancellationToken);
        if (Refused.Count == 0)
            return Redirect("/workbench/membership?done=terms");
        Response.StatusCode = StatusCodes.Status400BadRequest;
        Terms = await read.RunAsync(cancellationToken);
        return Page();
    }
}
