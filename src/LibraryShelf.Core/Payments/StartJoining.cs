using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <param name="Email">As typed; ignored for someone signed in.</param>
/// <param name="ConsentWords">The words that stood beside the box.</param>
public sealed record JoinWish(string? Email, long? PersonId, long PlanId, bool Agrees, string ConsentWords);

public abstract record JoinOutcome
{
    private JoinOutcome() { }

    /// <summary>The joining stands in the database; the payment page is open. <paramref name="Token"/> stands in the address of the way back.</summary>
    public sealed record GoAndPay(Uri Page, string Token) : JoinOutcome;

    /// <summary>Nothing was written.</summary>
    public sealed record Refused(JoinRefusal Why) : JoinOutcome;

    /// <summary>The payment page could not be opened. The joining stays without one, and is swept.</summary>
    public sealed record Unreachable(string Words) : JoinOutcome;
}

public enum JoinRefusal
{
    /// <summary>No key is set, or the maker offers no plan.</summary>
    Closed,
    NotAnAddress,
    /// <summary>The box beside the shop's words is not ticked.</summary>
    NotAgreed,
    /// <summary>The words of the shop are not the ones that were shown, or the plan is gone: the page has to be read anew.</summary>
    ChangedMeanwhile,
    /// <summary>This person signed in has a paid membership that goes on.</summary>
    IsMember,
}

/// <summary>Someone joins: what they agreed to is kept in the words they saw, then the payment page is opened.</summary>
public sealed class StartJoining(ShelfDb db, IPayments payments, TimeProvider clock)
{
    /// <param name="wish">What was pressed.</param>
    /// <param name="shelfAddress">Where the payer comes back to, without a slash at its end.</param>
    /// <param name="cancellationToken">Ends it; a joining written by then is swept.</param>
    public async Task<JoinOutcome> RunAsync(JoinWish wish, string shelfAddress, CancellationToken cancellationToken)
    {
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        if (!payments.IsOpen || shop is null)
            return new JoinOutcome.Refused(JoinRefusal.Closed);
        var person = wish.PersonId is { } id ? await People.FindAsync(db, id, cancellationToken) : null;
        if (EmailAddress.Tidy(person?.Email ?? wish.Email) is not { } email)
            return new JoinOutcome.Refused(JoinRefusal.NotAnAddress);
        if (shop.ConsentWords != wish.ConsentWords || await OfferedAsync(wish.PlanId, cancellationToken) is not { } plan)
            return new JoinOutcome.Refused(JoinRefusal.ChangedMeanwhile);
        if (shop.ConsentWords.Length > 0 && !wish.Agrees)
            return new JoinOutcome.Refused(JoinRefusal.NotAgreed);
        var now = clock.GetUtcNow();
        if (person is not null && await db.PaidMemberships.AnyAsync(
            m => m.PersonId == person.Id && m.LeavesAt == null && m.EndedAt == null, cancellationToken))
            return new JoinOutcome.Refused(JoinRefusal.IsMember);

        var token = Secrets.NewToken();
        var isOnly = await db.Plans.CountAsync(p => p.ClosedAt == null, cancellationToken) == 1;
        var joining = New(wish, shop, email, person, token, now);
        joining.ButtonWords = JoinButton.Words(shop.ButtonWords, plan, isOnly, payments.IsPractice);
        db.Joinings.Add(joining);
        await db.SaveChangesAsync(cancellationToken);
        try
        {
            return await OpenAsync(joining, plan, shelfAddress, token, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new JoinOutcome.Unreachable(away.Message);
        }
    }

    private Task<Plan?> OfferedAsync(long planId, CancellationToken cancellationToken) =>
        db.Plans.SingleOrDefaultAsync(p => p.Id == planId && p.ClosedAt == null, cancellationToken);

    private static Joining New(JoinWish wish, Shop shop, string email, Person? person, string token, DateTimeOffset now) => new()
    {
        Email = email, NormalizedEmail = EmailAddress.Normalize(email), PersonId = person?.Id, PlanId = wish.PlanId, ConsentWords = shop.ConsentWords,
        TermsVersion = shop.TermsVersion, AfterLeaving = shop.AfterLeaving, AgreedAt = now, TokenHash = Secrets.Hash(token),
    };

    private async Task<JoinOutcome> OpenAsync(
        Joining joining, Plan plan, string shelfAddress, string token, CancellationToken cancellationToken)
    {
        var price = await PlanPrice.OfAsync(db, payments, plan, cancellationToken);
        // One who paid before pays as the same customer, so that credit and invoices stay together. Only where the sign-in proves who it is.
        var customer = joining.PersonId is { } id
            ? await db.PaidMemberships.Where(m => m.PersonId == id).OrderByDescending(m => m.Id).Select(m => m.CustomerId).FirstOrDefaultAsync(cancellationToken)
            : null;
        var checkout = await payments.OpenCheckoutAsync(
            new CheckoutWish(joining.Id, price, joining.Email, customer, new Uri($"{shelfAddress}/join/done/{token}"), new Uri($"{shelfAddress}/join")),
            cancellationToken);
        joining.CheckoutId = checkout.Id;
        await db.SaveChangesAsync(cancellationToken);
        return checkout.Page is { } page ? new JoinOutcome.GoAndPay(page, token) : new JoinOutcome.Unreachable(T("The payment page is not open any more. Join again."));
    }
}
