using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Looks again at whatever the provider's messages are about, oldest first, each membership once however many messages name it. A message is done
/// once its membership was looked at after it had come.
/// </summary>
public sealed class HandleMessages(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock)
{
    private const int AtOnce = 100;

    /// <summary>After a try in vain, the n-th wait; the last one for ever. The daily reconciliation finds what it would have told.</summary>
    private static readonly TimeSpan[] Waits =
        [TimeSpan.FromMinutes(1), TimeSpan.FromMinutes(5), TimeSpan.FromMinutes(30), TimeSpan.FromHours(2), TimeSpan.FromHours(12)];

    /// <returns>Words for the maker when something could not be looked at; null: all done.</returns>
    public async Task<string?> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        string? trouble = null;
        while (true)
        {
            var now = clock.GetUtcNow();
            var due = await db.PaymentEvents.Where(e => e.DoneAt == null && (e.NextTryAt == null || e.NextTryAt <= now))
                .OrderBy(e => e.Id).Take(AtOnce).ToListAsync(cancellationToken);
            if (due.Count == 0)
                return trouble;
            foreach (var about in due.GroupBy(e => (e.SubjectKind, e.SubjectId)))
                trouble = await HandleAsync([.. about], shelfAddress, cancellationToken) ?? trouble;
        }
    }

    private async Task<string?> HandleAsync(List<PaymentEvent> about, string? shelfAddress, CancellationToken cancellationToken)
    {
        var ids = about.ConvertAll(e => e.Id);
        var first = about[0];
        try
        {
            if (first is { SubjectKind: { } kind, SubjectId: { } id }
                && await payments.FindMembershipAsync(new MessageSubject(kind, id), cancellationToken) is { } membership)
                await lookAgain.RunAsync(membership, shelfAddress, cancellationToken);
        }
        catch (PaymentsUnreachableException away)
        {
            var next = clock.GetUtcNow() + Waits[Math.Min(first.Tries, Waits.Length - 1)];
            await db.PaymentEvents.Where(e => ids.Contains(e.Id)).ExecuteUpdateAsync(
                s => s.SetProperty(e => e.Tries, e => e.Tries + 1).SetProperty(e => e.NextTryAt, next).SetProperty(e => e.Trouble, away.Message), cancellationToken);
            return $"A message of the payment provider could not be followed up: {away.Message} It is kept and tried again by itself; what members paid is not lost.";
        }
        finally
        {
            // What the look wrote is another matter's rows: nothing of it may be written again with the next.
            db.ChangeTracker.Clear();
        }
        var now = clock.GetUtcNow();
        await db.PaymentEvents.Where(e => ids.Contains(e.Id)).ExecuteUpdateAsync(
            s => s.SetProperty(e => e.DoneAt, now).SetProperty(e => e.Trouble, (string?)null), cancellationToken);
        return null;
    }
}
