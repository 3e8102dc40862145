using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>Writes which months a person's payments pay for.</summary>
internal static class KeepPaidMonths
{
    /// <summary>
    /// Inside the caller's transaction; saved here. Rows that say the same already are left alone. Somebody deleted has none, whatever they paid.
    /// </summary>
    public static async Task WriteAsync(
        ShelfDb db, long personId, IEnumerable<PaymentFact> payments, DateTimeZone zone, CancellationToken cancellationToken)
    {
        if (await db.Users.AnyAsync(p => p.Id == personId && p.DeletedAt != null, cancellationToken))
            return;
        var due = PaidMonths.Of(payments, zone).ToDictionary(m => m.Month);
        var kept = await db.PaidMonths.Where(m => m.PersonId == personId).ToListAsync(cancellationToken);
        foreach (var row in kept)
        {
            if (due.Remove(row.Month, out var month))
                (row.PaymentId, row.OpensAt) = (month.PaymentId, month.OpensAt);
            else
                db.PaidMonths.Remove(row);
        }
        db.PaidMonths.AddRange(due.Values.Select(m => new PaidMonth { PersonId = personId, Month = m.Month, PaymentId = m.PaymentId, OpensAt = m.OpensAt }));
        await db.SaveChangesAsync(cancellationToken);
    }
}
