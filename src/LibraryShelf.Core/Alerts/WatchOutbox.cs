using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

/// <summary>
/// Raises one alert for all mails that were given up. A given-up mail is over when a later one to the same address went out, or when the
/// maker put the alert away after it; the alert settles when none is left. One for all, because anyone may type a wrong address at the
/// sign-in page, and each of those mails is given up too. A second alert stands while mails wait for long that were tried in vain: then the
/// mail server is away or refuses the shelf, and people wait for their sign-in mails.
/// </summary>
public sealed class WatchOutbox(ShelfDb db, TimeProvider clock)
{
    private const AlertKind Kind = AlertKind.MailNotSent;
    private const string All = GivenUp;

    /// <summary>What the alert about given-up mails is about; the other, which no mail can tell of, is about <see cref="Waiting"/>.</summary>
    internal const string GivenUp = "", Waiting = "waiting";

    /// <summary>A mail may be put off for a few minutes by a careful relay.</summary>
    public static readonly TimeSpan LongWait = TimeSpan.FromMinutes(30);

    /// <returns>How many given-up mails stand.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var alert = await db.Alerts.AsNoTracking().SingleOrDefaultAsync(a => a.Kind == Kind && a.Subject == All, cancellationToken);
        var standing = await StandingAsync(alert, cancellationToken);
        if (standing.Count > 0)
            await RaiseAsync(alert, standing, cancellationToken);
        else if (alert is { SettledAt: null })
            await new SettleAlert(db, clock).RunAsync(Kind, All, cancellationToken);
        await WatchWaitingAsync(cancellationToken);
        return standing.Count;
    }

    private async Task WatchWaitingAsync(CancellationToken cancellationToken)
    {
        var since = clock.GetUtcNow() - LongWait;
        var waiting = (await GoingAsync(cancellationToken)).Where(m => m.SentAt == null && m.GaveUpAt == null && m.LastError != null && m.CreatedAt < since);
        var alert = await db.Alerts.AsNoTracking().SingleOrDefaultAsync(a => a.Kind == Kind && a.Subject == Waiting && a.SettledAt == null, cancellationToken);
        if (await waiting.OrderBy(m => m.CreatedAt).ThenBy(m => m.Id).FirstOrDefaultAsync(cancellationToken) is not { } oldest)
        {
            if (alert is not null)
                await new SettleAlert(db, clock).RunAsync(Kind, Waiting, cancellationToken);
            return;
        }
        var words = T($"Mails wait and can’t be sent, the oldest {Named(oldest)} for more than half an hour. What was said: {oldest.LastError} "
            + $"They are kept and tried again by themselves. See that the mail server runs and takes the name and password of the shelf’s settings.");
        if (alert?.Words != words)
            await new RaiseAlert(db, clock).RunAsync(Kind, Waiting, words, cancellationToken);
    }

    /// <summary>What is held, or stopped, waits for its maker's word, not for the mail server, whatever stands at it from the time before.</summary>
    private async Task<IQueryable<OutboxMail>> GoingAsync(CancellationToken cancellationToken)
    {
        var mails = db.Outbox.AsNoTracking().NotStopped(db);
        if (await ShelfHold.IsTrialAsync(db, cancellationToken))
            return mails.Where(_ => false);
        return await ShelfHold.IsHeldAsync(db, cancellationToken) ? mails.Where(MailKinds.IsWaitedFor) : mails;
    }

    /// <summary>Newest first: of a case that stands all since it began, else what came after the last one was over.</summary>
    private async Task<List<OutboxMail>> StandingAsync(Alert? alert, CancellationToken cancellationToken)
    {
        // Without a try it was left out: nobody failed.
        var givenUp = db.Outbox.AsNoTracking().Where(m => m.GaveUpAt != null && m.Attempts > 0 && !db.Outbox.Any(later => later.To == m.To && later.SentAt > m.GaveUpAt));
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

    /// <summary>By its subject; a letter that was never composed has none yet.</summary>
    private static string Named(OutboxMail mail) => mail.Subject.Length > 0 ? $"“{mail.Subject}”" : T($"one about {LetterKinds.Find(MailKinds.Of(mail.Cause))?.Title ?? T("the shelf")}");

    private static string Words(OutboxMail last, int count)
    {
        string?[] sentences =
        [
            count == 1
                ? T($"A mail could not be sent and is not tried again: {Named(last)}, to {last.To}.")
                : T($"{count} mails could not be sent and are not tried again. The last one: {Named(last)}, to {last.To}."),
            last.LastError is { } error ? T($"What was said: {error}") : null,
            T("If the address is wrong, ask for the right one; if the mail server is, put its settings right. Then have it tried again under Outbox; a mail to sign in its person asks for anew."),
        ];
        return string.Join(' ', sentences.OfType<string>());
    }
}
