using LibraryShelf.Core.Faults;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Workbench.Releases;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>What people told of a library, and what became of it. The same buttons stand on the check sheet of the release in work.</summary>
public sealed class FaultsModel(ReadFaults read, SettleFault settle, JobChain chain, ShopView shop) : PageModel
{
    [BindProperty(SupportsGet = true)]
    public string Slug { get; set; } = "";

    public FaultList Faults { get; private set; } = null!;

    public DateTimeZone Zone { get; private set; } = DateTimeZone.Utc;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (await read.RunAsync(Slug, cancellationToken) is not { } faults)
            return NotFound();
        Faults = faults;
        Zone = (await shop.GetAsync(cancellationToken)).Zone;
        return Page();
    }

    public Task<IActionResult> OnPostMendedAsync(long fault, string? back, CancellationToken cancellationToken) =>
        SettleAsync(fault, FaultSettlement.Mended, null, back, cancellationToken);

    public Task<IActionResult> OnPostPutAwayAsync(long fault, string? answer, string? back, CancellationToken cancellationToken) =>
        SettleAsync(fault, FaultSettlement.PutAway, answer, back, cancellationToken);

    public Task<IActionResult> OnPostOpenAgainAsync(long fault, CancellationToken cancellationToken) =>
        SettleAsync(fault, FaultSettlement.OpenAgain, null, null, cancellationToken);

    private async Task<IActionResult> SettleAsync(long fault, FaultSettlement settlement, string? answer, string? back, CancellationToken cancellationToken)
    {
        var outcome = await settle.RunAsync(fault, settlement, answer, cancellationToken);
        if (outcome == SettleFaultOutcome.NoSuchFault)
            return NotFound();
        if (outcome == SettleFaultOutcome.Answered)
            chain.MailSoon();
        var isDone = outcome is SettleFaultOutcome.Settled or SettleFaultOutcome.Answered;
        TempData[isDone ? "Said" : "Warned"] = Words(outcome, settlement);
        return Redirect(Url.IsLocalUrl(back) ? back : $"/workbench/libraries/{Slug}/faults");
    }

    private static string Words(SettleFaultOutcome outcome, FaultSettlement settlement) => (outcome, settlement) switch
    {
        (SettleFaultOutcome.Answered, _) => T("It is put away, and your answer is on its way."),
        (SettleFaultOutcome.Settled, FaultSettlement.Mended) => T("Kept as mended. Who told it hears so when this version is published. You can open it again among the settled ones."),
        (SettleFaultOutcome.Settled, FaultSettlement.PutAway) => T("It is put away. You can open it again among the settled ones."),
        (SettleFaultOutcome.Settled, _) => T("It is open again."),
        (SettleFaultOutcome.NothingInWork, _) => T("No version of this library is in work, so none can mend it. Start one first; nothing was changed."),
        (SettleFaultOutcome.ToldAlready, _) => T("Who told it has been written that it is mended, so that stands. Nothing was changed."),
        (SettleFaultOutcome.TooLong, _) => T($"The answer is longer than {SettleFault.MaxAnswerLength} letters. Shorten it; nothing was changed."),
        _ => T("It stood so already; nothing was changed."),
    };
}
