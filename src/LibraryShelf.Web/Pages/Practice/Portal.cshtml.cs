using LibraryShelf.Web.Practice;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Practice;

/// <summary>Stands in for the provider's page for card, invoices and leaving. Open to whoever has its address, for an hour.</summary>
internal sealed class PortalModel(StandIn standIn) : PageModel
{
    [BindProperty(Name = "id", SupportsGet = true)] public string Id { get; set; } = "";

    public PracticeCustomer Customer { get; private set; } = null!;

    public string Back { get; private set; } = "";

    public IReadOnlyList<PracticeMembership> Memberships { get; private set; } = [];

    public IActionResult OnGet() => standIn.Do(billing => Fill(billing) ? Page() : (IActionResult)NotFound());

    public IActionResult OnPostCard(bool works) => Change(_ =>
    {
        (Customer.IsCardRefused, Customer.IsNextTryRefused) = (!works, false);
        return works ? T("The new card works. An open invoice is paid at its next try, or now if you press.") : T("From now on the card is refused.");
    });

    public IActionResult OnPostLeave(string? membership, bool stays) => Change(billing =>
    {
        if (Memberships.FirstOrDefault(m => m.Subscription.Id == membership && m.Goes) is not { } one)
            return null;
        billing.Leave(one.Subscription, stays);
        return stays ? T("The membership goes on.") : T("The membership ends with what is paid.");
    });

    public IActionResult OnPostPay(string? invoice) => Change(billing =>
    {
        if (Memberships.SelectMany(m => m.Invoices).FirstOrDefault(i => i.Id == invoice && i.Status == PracticeStatus.Open) is not { } open)
            return null;
        return billing.PayOpen(open, isPaidAnyway: false) ? T("The invoice is paid.") : T("The card was refused. The invoice stays open.");
    });

    /// <param name="act">What to say; null: it is not there any more, and nothing was changed.</param>
    private IActionResult Change(Func<Billing, string?> act) => standIn.Do(billing =>
    {
        if (!Fill(billing))
            return (IActionResult)NotFound();
        if (act(billing) is { } said) TempData["Said"] = said;
        else TempData["Warned"] = T("That is not there any more. Nothing was changed.");
        return Redirect(PracticePlaces.Portal(Id));
    });

    private bool Fill(Billing billing)
    {
        if (billing.Ledger.Portals.Find(p => p.Id == Id && p.ExpiresAt > billing.Now) is not { } portal)
            return false;
        Back = portal.ReturnUrl;
        Customer = billing.Customer(portal.CustomerId);
        Memberships = PracticeMembership.Of(billing, s => s.CustomerId == Customer.Id);
        return true;
    }
}
