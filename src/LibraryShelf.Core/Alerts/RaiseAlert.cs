using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

public enum RaiseAlertOutcome
{
    /// <summary>It did not stand before: a case begins.</summary>
    NewCase,
    /// <summary>It stands already; it was counted, and its words are the new ones.</summary>
    SeenAgain,
}

/// <summary>Says that something happened the maker has to know about. Several at once make one row.</summary>
public sealed class RaiseAlert(ShelfDb db, TimeProvider clock)
{
    /// <summary>What comes back so soon after its mail is shown as a new case, but mailed only if it still stands when this time is over.</summary>
    public static readonly TimeSpan Quiet = TimeSpan.FromHours(1);

    /// <param name="kind">What kind of thing it is.</param>
    /// <param name="subject">What it is about; "" when there is but one of its kind.</param>
    /// <param name="words">What happened, what is kept, what to do: plain text.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<RaiseAlertOutcome> RunAsync(AlertKind kind, string subject, string words, CancellationToken cancellationToken)
    {
        for (var tries = 1; ; tries++)
        {
            if (await CountAsync(kind, subject, words, cancellationToken))
                return RaiseAlertOutcome.SeenAgain;
            if (await BeginAgainAsync(kind, subject, words, cancellationToken))
                return RaiseAlertOutcome.NewCase;
            try
            {
                await AddAsync(kind, subject, words, cancellationToken);
                return RaiseAlertOutcome.NewCase;
            }
            catch (DbUpdateException) when (tries < FreshEyes.MostTries)
            {
                // Another raised it first: its row is there now.
                db.ChangeTracker.Clear();
            }
        }
    }

    private async Task<bool> CountAsync(AlertKind kind, string subject, string words, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Alerts.Where(a => a.Kind == kind && a.Subject == subject && a.SettledAt == null)
            .ExecuteUpdateAsync(s => s
                .SetProperty(a => a.Times, a => a.Times + 1).SetProperty(a => a.LastSeenAt, now).SetProperty(a => a.Words, words),
                cancellationToken) == 1;
    }

    private async Task<bool> BeginAgainAsync(AlertKind kind, string subject, string words, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Alerts.Where(a => a.Kind == kind && a.Subject == subject && a.SettledAt != null)
            .ExecuteUpdateAsync(s => s
                .SetProperty(a => a.RaisedAt, now).SetProperty(a => a.LastSeenAt, now).SetProperty(a => a.Times, 1)
                .SetProperty(a => a.Words, words).SetProperty(a => a.SettledAt, (DateTimeOffset?)null), cancellationToken) == 1;
    }

    private Task<int> AddAsync(AlertKind kind, string subject, string words, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        db.Alerts.Add(new Alert { Kind = kind, Subject = subject, Words = words, RaisedAt = now, LastSeenAt = now, Times = 1 });
        return db.SaveChangesAsync(cancellationToken);
    }
}
