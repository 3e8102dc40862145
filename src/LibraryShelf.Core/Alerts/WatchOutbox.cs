using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

/// <summary>
/// Raises one alert for all mails that were given up. A given-up mail is over when a later one to the same address went out, or when the
/// maker put the alert away after it; the alert settles when none is left. One for all, because anyone may type a wrong address at the
/// sign-in page, and each of those mails is given up too.
/// </summary>
public sealed class WatchOutbox(ShelfDb db, TimeProvider clock)
{
    private const AlertKind Kind = AlertKind.MailNotSent;
    private const string All = "";

    /// <returns>How many given-up mails stand.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var alert = await db.Alerts.AsNoTracking().SingleOrDefaultAsync(a => a.Kind == Kind && a.Subject == All, cancellationToken);
        var standing = await StandingAsync(alert, cancellationToken);
        if (standing.Count > 0)
            await RaiseAsync(alert, standing, cancellationToken);
        else if (alert is { SettledAt: null })
            await new SettleAlert(db, clock).RunAsync(Kind, All, cancellationToken);
        return standing.Count;
    }

    /// <summary>Newest first: of a case that stands all since it began, else what came after the last one was over.</summary>
    private async Task<List<OutboxMail>> StandingAsync(Alert? alert, CancellationToken cancellationToken)
    {
        var givenUp = db.Outbox.AsNoTracking().Where(m => m.GaveUpAt != null && !db.Outbox.Any(later => later.To == m.To && later.SentAt > m.GaveUpAt));
        if (alert is { SettledAt: null, RaisedAt: var began })
            givenUp = givenUp.Where(m => m.GaveUpAt >= began);
        else if (alert is { SettledAt: { } over })
            givenUp = givenUp.Where(m => m.GaveUpAt > over);
        return await givenUp.OrderByDescending(m => m.GaveUpAt).ThenByDescending(m => m.Id).ToListAsync(cancellationToken);
    }

    private async Task RaiseAsync(Alert? alert, List<OutboxMail> standing, CancellationToken cancellationToken)
    {
        var words = Words(standing[0], standing.Count);
        if (alert is { SettledAt: null } && alert.Words == words)
            return;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await new RaiseAlert(db, clock).RunAsync(Kind, All, words, cancellationToken);
        // The case began with its first mail, not when somebody looked.
        var began = standing[^1].GaveUpAt!.Value;
        await db.Alerts.Where(a => a.Kind == Kind && a.Subject == All).ExecuteUpdateAsync(s => s.SetProperty(a => a.RaisedAt, began), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
    }

    private static string Words(OutboxMail last, int count)
    {
        var which = $"“{last.Subject}”, to {last.To}";
        var said = last.LastError is { } error ? $" What was said: {error}" : "";
        return (count == 1
            ? $"A mail could not be sent and is not tried again: {which}.{said}"
            : $"{count} mails could not be sent and are not tried again. The last one: {which}.{said}")
            + " If the address is wrong, ask for the right one; if the mail server is, put its settings right. The person can ask for a new mail at any time.";
    }
}
