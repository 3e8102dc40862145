using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Whoever was credited with a month, and leaves before a payment came from which it could be taken, has it paid back instead. Who had the payment itself
/// back meanwhile has had the money: then it is only not credited any more.
/// </summary>
public sealed class MoveCredits(ShelfDb db, TimeProvider clock)
{
    public const int AtATime = 50;

    /// <param name="shelfAddress">For the mails, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it between two transactions or within one.</param>
    /// <returns>How many were moved.</returns>
    public async Task<int> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        var (moved, round) = (0, 0);
        do
        {
            db.ChangeTracker.Clear();
            moved += round = await MoveSomeAsync(shelfAddress, cancellationToken);
        }
        while (round > 0);
        return moved;
    }

    /// <summary>Credited, not used, and no payment will follow.</summary>
    internal static IQueryable<MonthCreditLine> Stranded(ShelfDb db) => db.MonthCreditLines.Where(l => l.CreditedAt != null && !l.IsPaidBack && l.Minor > 0
        && db.PaidMemberships.Any(m => m.Id == l.PaidMembershipId && (m.EndedAt != null || m.LeavesAt != null))
        && !db.Payments.Any(p => p.PaidMembershipId == l.PaidMembershipId && p.PaidAt > l.CreditedAt));

    private async Task<int> MoveSomeAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        var lines = await Stranded(db).OrderBy(l => l.MonthCreditId).ThenBy(l => l.PersonId).Take(AtATime).ToListAsync(cancellationToken);
        var payments = lines.ConvertAll(l => l.PaymentId);
        var left = await db.Payments.Where(p => payments.Contains(p.Id)).ToDictionaryAsync(p => p.Id, p => p.Minor - p.RefundedMinor, StringComparer.Ordinal, cancellationToken);
        var people = lines.ConvertAll(l => l.PersonId);
        var addresses = await db.Users.Where(p => people.Contains(p.Id) && p.Email != null).ToDictionaryAsync(p => p.Id, p => p.Email!, cancellationToken);
        var desk = await MailDesk.OpenAsync(db, shelfAddress, now, cancellationToken);
        foreach (var line in lines)
            (line.IsPaidBack, line.BackMinor, line.CreditedAt, line.MovedAt) = (true, Math.Clamp(left.GetValueOrDefault(line.PaymentId), 0, line.Minor), null, now);
        await desk.WriteAsync(
            [.. lines.Where(l => l.BackMinor > 0 && addresses.ContainsKey(l.PersonId)).Select(l => new WrittenMail(
                $"credit-back:{l.MonthCreditId}:{l.PersonId}", addresses[l.PersonId], T("What was credited is paid back"), T($"""
                {Money.Of(l.Minor, l.Currency)} were to be taken off your next payment, because a month had slipped. Since no payment follows, {Money.Of(l.BackMinor, l.Currency)} are on the way back to you. You have nothing to do.
                """) + MailWords.Foot(desk.Shop)))], cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return lines.Count;
    }
}
