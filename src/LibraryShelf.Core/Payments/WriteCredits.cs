using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Writes a line and a mail for everybody who is credited with a month that slipped. A few at a time, each time in a transaction of its own; what a kill leaves
/// undone the next run does, because <see cref="MonthCredit.WrittenAt"/> is written with the last.
/// </summary>
public sealed class WriteCredits(ShelfDb db, TimeProvider clock)
{
    public const int AtATime = 50;

    /// <returns>How many lines were written.</returns>
    public async Task<int> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        var written = 0;
        foreach (var id in await db.MonthCredits.Where(c => c.WrittenAt == null).Select(c => c.Id).ToListAsync(cancellationToken))
        {
            int round;
            do
            {
                db.ChangeTracker.Clear();
                written += round = await WriteSomeAsync(id, shelfAddress, cancellationToken);
            }
            while (round > 0);
        }
        return written;
    }

    private async Task<int> WriteSomeAsync(long id, string? shelfAddress, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        if (await db.MonthCredits.SingleOrDefaultAsync(c => c.Id == id && c.WrittenAt == null, cancellationToken) is not { } credit)
            return 0;
        var people = await CreditedPeople.Of(db, credit.Month, credit.DecidedAt)
            .Where(p => !db.MonthCreditLines.Any(l => l.MonthCreditId == id && l.PersonId == p.PersonId)).Take(AtATime).ToListAsync(cancellationToken);
        var memberships = people.ConvertAll(p => p.PaidMembershipId);
        // Who leaves has no payment to come from which it could be taken.
        var going = await db.PaidMemberships.Where(m => memberships.Contains(m.Id) && (m.EndedAt != null || m.LeavesAt != null)).Select(m => m.Id).ToListAsync(cancellationToken);
        var lines = people.ConvertAll(p => Line(id, p, going.Contains(p.PaidMembershipId), now));
        db.MonthCreditLines.AddRange(lines);
        var desk = await MailDesk.OpenAsync(db, shelfAddress, now, cancellationToken);
        await desk.WriteAsync(
            [.. people.Zip(lines).Where(p => p.First.Email is { Length: > 0 } && p.Second.Minor > 0).Select(p => new WrittenMail(
                $"credit:{id}:{p.First.PersonId}", p.First.Email!, T($"{MonthName(credit)} slipped, and is credited"),
                Words(credit, p.Second) + MailWords.Foot(desk.Shop)))], cancellationToken);
        if (people.Count == 0)
            credit.WrittenAt = now;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return people.Count;
    }

    /// <summary>With nothing to credit, or nothing left to pay back, it is done as soon as it stands.</summary>
    private static MonthCreditLine Line(long id, CreditedPerson person, bool leaves, DateTimeOffset now)
    {
        var minor = Math.Max(0, leaves ? Math.Min(person.Minor, person.Left) : person.Minor);
        return new MonthCreditLine
        {
            MonthCreditId = id, PersonId = person.PersonId, PaymentId = person.PaymentId, PaidMembershipId = person.PaidMembershipId, Minor = minor,
            Currency = person.Currency, IsPaidBack = leaves && minor > 0, BackMinor = leaves ? minor : 0, CreditedAt = minor > 0 ? null : now,
        };
    }

    private static string Words(MonthCredit credit, MonthCreditLine line) => T($"""
        {MonthName(credit)} slipped: its box did not come when it should have.

        {credit.Reason}

        {(line.IsPaidBack
            ? T($"Since no payment of yours follows, {Money.Of(line.Minor, line.Currency)} are on the way back to you.")
            : T($"{Money.Of(line.Minor, line.Currency)}, what the month cost you, are taken off your next payment by themselves."))} You have nothing to do. The month stays yours: when its box comes, it is open to you.

        You get this mail because you paid for {MonthName(credit)}.
        """);

    private static string MonthName(MonthCredit credit) => DayWords.Month(credit.Month);
}
