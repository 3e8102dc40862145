using LibraryShelf.Core.Drops;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Practice;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Practice;

/// <summary>The maker plays the payment provider.</summary>
internal sealed class BenchModel(StandIn standIn, JobChain jobs) : PageModel
{
    private const string Here = "/workbench/practice";

    public DateTimeOffset Now { get; private set; }

    public int DaysAhead { get; private set; }

    public IReadOnlyList<PracticeMembership> Memberships { get; private set; } = [];

    public int MessagesWaiting { get; private set; }

    public void OnGet() => standIn.Do(billing =>
    {
        Now = DateTimeOffset.FromUnixTimeSeconds(billing.Now);
        DaysAhead = (int)(billing.Ledger.AheadSeconds / Billing.Day);
        Memberships = PracticeMembership.Of(billing, _ => true);
        MessagesWaiting = billing.Ledger.Messages.Count;
    });

    public async Task<IActionResult> OnPostPassAsync(string? what, [FromServices] WatchClock watch, CancellationToken cancellationToken)
    {
        var isMonth = what == "month";
        // It jumps on purpose, and twice in a minute is no reason to mistrust it.
        await watch.RunAsync(cancellationToken);
        standIn.LetPass(now => isMonth ? now.AddMonths(1) : now.AddDays(1));
        // What came due meanwhile, a drop say, need not wait for the next minute.
        jobs.SweepSoon();
        return Say(isMonth ? T("A month has passed.") : T("A day has passed."));
    }

    public IActionResult OnPostFailNext(string? id) => Change(billing =>
    {
        var subscription = billing.Subscription(id ?? "");
        billing.Customer(subscription.CustomerId).IsNextTryRefused = true;
        return T("The next renewal will fail once. Let time pass to see it.");
    });

    public IActionResult OnPostInvoice(string? id, string? what) => Change(billing =>
    {
        var invoice = billing.Invoice(id ?? "");
        var charge = billing.Ledger.Charges.Find(c => c.InvoiceId == invoice.Id);
        switch (what)
        {
            case "pay":
                billing.PayOpen(invoice, isPaidAnyway: true);
                return T("The invoice is paid.");
            case "refund" when charge is not null:
                billing.Refund(charge, null);
                return T("The invoice is paid back.");
            case "half" when charge is not null:
                billing.Refund(charge, charge.Amount / 2);
                return T("Half of the invoice is paid back.");
            case "dispute" when charge is not null:
                billing.Dispute(charge);
                return T("A dispute is open. Until it is lost nothing changes for the member.");
            case "lose" when billing.Ledger.Disputes.Find(d => d.ChargeId == charge?.Id && d.Status != PracticeStatus.Lost) is { } dispute:
                billing.Lose(dispute);
                return T("The dispute is lost: the money went back.");
            default:
                throw new Refusal(StatusCodes.Status400BadRequest, "unknown", T("That can’t be done with this invoice. Nothing was changed."));
        }
    });

    private IActionResult Change(Func<Billing, string> act)
    {
        try
        {
            return Say(standIn.Do(act));
        }
        catch (Refusal refusal)
        {
            TempData["Warned"] = refusal.Message;
            return Redirect(Here);
        }
    }

    private IActionResult Say(string said)
    {
        TempData["Said"] = said;
        return Redirect(Here);
    }
}
