using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Payments;

public enum CreditMonthOutcome
{
    /// <summary>It stands. Lines, mails and the credit itself follow.</summary>
    Decided,
    /// <summary>This month was credited before; nothing was written.</summary>
    CreditedBefore,
    /// <summary>Nobody paid for it; nothing was written.</summary>
    NobodyPaid,
    /// <summary>The reason is empty or too long; nothing was written.</summary>
    NoReason,
}

/// <summary>A month slipped: everybody who has paid for it by now is credited with what it cost them, before their next payment. The month stays theirs.</summary>
public sealed class CreditMonth(ShelfDb db, TimeProvider clock)
{
    public const int LongestReason = 1_000;

    /// <param name="month">Which.</param>
    /// <param name="reason">Stands in the mail.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public Task<CreditMonthOutcome> RunAsync(YearMonth month, string? reason, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        // Two presses at once both add the row: the later finds it on looking again.
        return FreshEyes.LookAsync(db, () => DecideAsync(month, (reason ?? "").Trim(), cancellationToken), () => CreditMonthOutcome.CreditedBefore);
    }

    private async Task<CreditMonthOutcome> DecideAsync(YearMonth month, string reason, CancellationToken cancellationToken)
    {
        if (reason.Length is 0 or > LongestReason)
            return CreditMonthOutcome.NoReason;
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await db.MonthCredits.AnyAsync(c => c.Month == month, cancellationToken))
            return CreditMonthOutcome.CreditedBefore;
        if (!await CreditedPeople.Of(db, month, now).AnyAsync(cancellationToken))
            return CreditMonthOutcome.NobodyPaid;
        db.MonthCredits.Add(new MonthCredit { Month = month, Reason = reason, DecidedAt = now });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return CreditMonthOutcome.Decided;
    }
}

/// <summary>Somebody's month with what it cost.</summary>
internal sealed class CreditedPerson
{
    public long PersonId { get; init; }
    public string? Email { get; init; }
    public string PaymentId { get; init; } = "";
    public long PaidMembershipId { get; init; }
    /// <summary>In the currency's smallest unit: the invoice's, a twelfth of it for a year, rounded up, less what was paid back already.</summary>
    public long Minor { get; init; }
    /// <summary>What is left of the payment, so that it could be paid back.</summary>
    public long Left { get; init; }
    public string Currency { get; init; } = "";
}

/// <summary>Who is credited with a month.</summary>
internal static class CreditedPeople
{
    /// <summary>Who had paid for it at that instant; by their ids. Those with nothing to credit are among them.</summary>
    public static IQueryable<CreditedPerson> Of(ShelfDb db, YearMonth month, DateTimeOffset paidBy) =>
        from m in db.PaidMonths
        where m.Month == month
        join p in db.Payments on m.PaymentId equals p.Id
        where p.PaidAt <= paidBy
        join person in db.Users on m.PersonId equals person.Id
        orderby m.PersonId
        select new CreditedPerson
        {
            PersonId = m.PersonId, Email = person.Email, PaymentId = p.Id, PaidMembershipId = p.PaidMembershipId, Currency = p.Currency, Left = p.Minor - p.RefundedMinor,
            Minor = p.Months == 12 ? (p.PriceMinor - p.RefundedMinor + 11) / 12 : p.PriceMinor - p.RefundedMinor,
        };
}
