using LibraryShelf.Web.Practice;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Practice;

/// <summary>Stands in for the provider's payment page. Open to whoever has its address, which nobody can guess.</summary>
internal sealed class CheckoutModel(StandIn standIn) : PageModel
{
    [BindProperty(Name = "id", SupportsGet = true)] public string Id { get; set; } = "";

    public PracticePrice Price { get; private set; } = null!;

    public string Email { get; private set; } = "";

    public string Back { get; private set; } = "";

    public DateTimeOffset Today { get; private set; }

    public bool IsDeclined { get; private set; }

    public IActionResult OnGet() => standIn.Do(billing => Fill(billing) ?? Page());

    public IActionResult OnPost(string? card) => standIn.Do(billing =>
    {
        if (Fill(billing) is { } elsewhere)
            return elsewhere;
        var checkout = billing.Checkout(Id);
        if (billing.Pay(checkout, isCardGood: card != "declined"))
            return Redirect(Done(checkout));
        IsDeclined = true;
        return Page();
    });

    /// <returns>Where to instead: a paid one leads back to the shop, one that is over or unknown is not there.</returns>
    private IActionResult? Fill(Billing billing)
    {
        if (billing.Ledger.Checkouts.Find(c => c.Id == Id) is not { } checkout)
            return NotFound();
        if (checkout.SubscriptionId is not null)
            return Redirect(Done(checkout));
        if (checkout.ExpiresAt <= billing.Now)
            return Redirect(checkout.CancelUrl);
        Price = billing.Price(checkout.PriceId);
        (Email, Back, Today) = (checkout.Email, checkout.CancelUrl, DateTimeOffset.FromUnixTimeSeconds(billing.Now));
        return null;
    }

    private static string Done(PracticeCheckout checkout) => checkout.SuccessUrl.Replace("{CHECKOUT_SESSION_ID}", checkout.Id, StringComparison.Ordinal);
}
