using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

public abstract record RefundOutcome
{
    private RefundOutcome() { }

    /// <summary>The provider has it.</summary>
    /// <param name="Minor">This time.</param>
    /// <param name="IsWhole">It was paid back whole, so its months are taken back.</param>
    /// <param name="IsLookedAt">False: the money is on its way back, but how the membership stands could not be read; the next look finds it.</param>
    public sealed record PaidBack(long Minor, string Currency, bool IsWhole, bool IsLookedAt) : RefundOutcome;

    /// <summary>This person has no such payment; nothing was done.</summary>
    public sealed record NoSuchPayment : RefundOutcome;

    /// <summary>So much is not left of it; nothing was done. <paramref name="Left"/> is 0 when all went back, or it paid nothing.</summary>
    public sealed record TooMuch(long Left, string Currency) : RefundOutcome;

    /// <summary>Something of it was paid back since the page was read: by this same press doubled, or elsewhere. Nothing was done now.</summary>
    public sealed record ChangedMeanwhile : RefundOutcome;

    public sealed record Unreachable(string Words) : RefundOutcome;
}

/// <summary>Pays a payment back, whole or in part.</summary>
public sealed class RefundPayment(ShelfDb db, IPayments payments, LookAgain lookAgain)
{
    /// <param name="personId">Whose it is.</param>
    /// <param name="paymentId">The provider's name for it.</param>
    /// <param name="minor">In the currency's smallest unit, above 0; null: all that is left.</param>
    /// <param name="alreadyBack">What had been paid back as the page showed it: with the sum it names the wish, so that a press doubled, or pressed again
    /// after a line that broke, pays once.</param>
    /// <param name="shelfAddress">For the mails, without a slash at its end.</param>
    /// <param name="cancellationToken">Ends it; whether the provider heard is found out by the next look.</param>
    public async Task<RefundOutcome> RunAsync(
        long personId, string paymentId, long? minor, long alreadyBack, string? shelfAddress, CancellationToken cancellationToken)
    {
        var payment = await db.Payments.AsNoTracking().SingleOrDefaultAsync(p => p.Id == paymentId && p.PersonId == personId, cancellationToken);
        if (payment is null)
            return new RefundOutcome.NoSuchPayment();
        if (payment.RefundedMinor != alreadyBack)
            return new RefundOutcome.ChangedMeanwhile();
        var left = payment.IsDisputeLost ? 0 : payment.Minor - payment.RefundedMinor;
        var wanted = minor ?? left;
        if (wanted <= 0 || wanted > left)
            return new RefundOutcome.TooMuch(left, payment.Currency);
        try
        {
            await payments.RefundAsync(payment.Id, wanted, $"refund-{payment.Id}-{alreadyBack}-{wanted}", cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            return new RefundOutcome.Unreachable(away.Message);
        }
        var membership = await db.PaidMemberships.Where(m => m.Id == payment.PaidMembershipId).Select(m => m.ProviderId).SingleAsync(cancellationToken);
        var isLookedAt = await LookAsync(membership, shelfAddress, cancellationToken);
        // What went back for a month that slipped is not what takes months away, so the rule says it, not the sum.
        var isTakenBack = isLookedAt ? await db.Payments.AnyAsync(p => p.Id == payment.Id && p.TakenBackAt != null, cancellationToken) : wanted == left;
        return new RefundOutcome.PaidBack(wanted, payment.Currency, isTakenBack, isLookedAt);
    }

    private async Task<bool> LookAsync(string membership, string? shelfAddress, CancellationToken cancellationToken)
    {
        try
        {
            await lookAgain.RunAsync(membership, shelfAddress, cancellationToken);
            return true;
        }
        catch (PaymentsUnreachableException)
        {
            return false;
        }
    }
}
