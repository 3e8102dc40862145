using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Looks again at whatever the provider's messages are about, oldest first, each membership once however many messages name it. A message is done
/// once its membership was looked at after it had come.
/// </summary>
public sealed class HandleMessages(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock, ILogger<HandleMessages> log)
{
    private const int AtOnce = 100;

    /// <summary>After a try in vain, the n-th wait; the last one for ever. The daily reconciliation finds what it would have told.</summary>
    private static readonly TimeSpan[] Waits =
        [TimeSpan.FromMinutes(1), TimeSpan.FromMinutes(5), TimeSpan.FromMinutes(30), TimeSpan.FromHours(2), TimeSpan.FromHours(12)];

    /// <returns>Words for the maker when something could not be looked at; null: all done.</returns>
    public async Task<string?> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        string? away = null;
        var unread = new SortedSet<string>(StringComparer.Ordinal);
        while (true)
        {
            var now = clock.GetUtcNow();
            var due = await db.PaymentEvents.Where(e => e.DoneAt == null && (e.NextTryAt == null || e.NextTryAt <= now))
                .OrderBy(e => e.Id).Take(AtOnce).ToListAsync(cancellationToken);
            if (due.Count == 0)
                return Words(away, unread);
            foreach (var about in due.GroupBy(e => (e.SubjectKind, e.SubjectId)))
                away = await HandleAsync([.. about], unread, shelfAddress, cancellationToken) ?? away;
        }
    }

    /// <returns>Why the provider could not be asked; null: it could.</returns>
    private async Task<string?> HandleAsync(List<PaymentEvent> about, SortedSet<string> unread, string? shelfAddress, CancellationToken cancellationToken)
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
            await PutOffAsync(ids, first.Tries, away.Message, cancellationToken);
            return away.Message;
        }
        // One thing of the provider's that can't be read must not keep what others paid from being followed up.
        catch (Exception fault) when (!cancellationToken.IsCancellationRequested)
        {
            log.LogError(fault, "The message {Message} about {Subject} could not be followed up", first.ProviderId, first.SubjectId);
            db.ChangeTracker.Clear();
            await PutOffAsync(ids, first.Tries, T("What the payment provider says of it could not be read; the shelf’s log says why."), cancellationToken);
            unread.Add(first.SubjectId ?? first.ProviderId);
            return null;
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

    private async Task PutOffAsync(List<long> ids, int tries, string why, CancellationToken cancellationToken)
    {
        var next = clock.GetUtcNow() + Waits[Math.Min(tries, Waits.Length - 1)];
        await db.PaymentEvents.Where(e => ids.Contains(e.Id)).ExecuteUpdateAsync(
            s => s.SetProperty(e => e.Tries, e => e.Tries + 1).SetProperty(e => e.NextTryAt, next).SetProperty(e => e.Trouble, why), cancellationToken);
    }

    private static string? Words(string? away, SortedSet<string> unread)
    {
        List<string> words = [];
        if (away is not null)
            words.Add(T($"A message of the payment provider could not be followed up: {away} It is kept and tried again by itself; what members paid is not lost."));
        if (UnreadWords.Of(unread) is { } names)
            words.Add(T($"What the payment provider says of {names} could not be read. Its messages are kept and tried again by themselves, and all others were followed up. If this stays, whoever runs the server finds the reason in the shelf’s log."));
        return words.Count == 0 ? null : string.Join(' ', words);
    }
}
