using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>Has the payment provider take what is credited off the next payment, or pay it back to those who leave. Each line names its wish, so that it is done once.</summary>
public sealed class PayCredits(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock)
{
    /// <param name="shelfAddress">For mails that may follow, without a slash at its end.</param>
    /// <param name="cancellationToken">Ends it between two people or within one.</param>
    /// <returns>What could not be done, for the maker; null: all of it was, or the shelf is held (<see cref="Shop.HeldSince"/>) and it waits.</returns>
    public async Task<string?> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        if (await ShelfHold.IsHeldAsync(db, cancellationToken))
            return null;
        db.IsMoney = true;
        var tries = new MoneyTries(clock);
        while (!tries.IsAway && await NextAsync(cancellationToken) is { } line)
        {
            await tries.TryAsync(() => PayAsync(line, shelfAddress, cancellationToken), async until =>
            {
                line.NextTryAt = until;
                await db.SaveChangesAsync(cancellationToken);
            });
            db.ChangeTracker.Clear();
        }
        return tries.Words((members, answer) => T($"The month that slipped could not be credited to {members} yet; it is tried again each hour. The last answer was: {answer}"));
    }

    private Task<MonthCreditLine?> NextAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return db.MonthCreditLines.Where(l => l.CreditedAt == null && (l.NextTryAt == null || l.NextTryAt <= now))
            .OrderBy(l => l.MonthCreditId).ThenBy(l => l.PersonId).FirstOrDefaultAsync(cancellationToken);
    }

    private async Task PayAsync(MonthCreditLine line, string? shelfAddress, CancellationToken cancellationToken)
    {
        var membership = await db.PaidMemberships.AsNoTracking().SingleAsync(m => m.Id == line.PaidMembershipId, cancellationToken);
        var month = await db.MonthCredits.Where(c => c.Id == line.MonthCreditId).Select(c => c.Month).SingleAsync(cancellationToken);
        var key = $"slipped-{line.MonthCreditId}-{line.PersonId}";
        // What was to be taken off a next payment is not any more, before it is paid back: the other way round it could be had twice.
        if (line.MovedAt is not null)
            await payments.CreditAsync(membership.CustomerId, -line.Minor, line.Currency, T($"{month:uuuu-MM} slipped, paid back instead"), key + "-moved", cancellationToken);
        if (!line.IsPaidBack)
            await payments.CreditAsync(membership.CustomerId, line.Minor, line.Currency, T($"{month:uuuu-MM} slipped"), key, cancellationToken);
        else if (line.BackMinor > 0)
            await payments.RefundAsync(line.PaymentId, line.BackMinor, key, cancellationToken);
        line.CreditedAt = clock.GetUtcNow();
        await db.SaveChangesAsync(cancellationToken);
        await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
    }
}
