using System.Linq.Expressions;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

/// <summary>
/// Writes one mail for each case that stands and was not mailed yet, to the maker; a case that came back soon after its mail waits for the end of
/// <see cref="RaiseAlert.Quiet"/>. The mail and the mark on the row are one transaction,
/// and each case is a cause of its own, so it is written once however often this runs. Of mails, only those
/// given up are told by mail: while the mail server is away or the mail job fails, no mail would go out.
/// </summary>
public sealed class MailAlerts(ShelfDb db, TimeProvider clock)
{
    /// <param name="shelfAddress">For the mail, without a slash at its end; null when none is sure: the mail then names no address.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>How many mails were written.</returns>
    public async Task<int> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        var waiting = await db.Alerts.AsNoTracking().Where(IsDue(clock.GetUtcNow()))
            .OrderBy(a => a.RaisedAt).Take(ReadAlerts.Most).ToListAsync(cancellationToken);
        if (waiting.Count == 0)
            return 0;
        var maker = await db.Users.Where(p => p.IsMaker && p.Email != null).OrderBy(p => p.Id).Select(p => p.Email).FirstOrDefaultAsync(cancellationToken);
        if (maker is null)
            return 0;
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var written = 0;
        foreach (var alert in waiting)
            written += await WriteAsync(alert, maker, shop, shelfAddress, cancellationToken) ? 1 : 0;
        return written;
    }

    /// <summary>It stands, and its mail is not this case's, nor of the hour before.</summary>
    private static Expression<Func<Alert, bool>> IsDue(DateTimeOffset now)
    {
        var quietSince = now - RaiseAlert.Quiet;
        return a => a.SettledAt == null && (a.Kind != AlertKind.MailNotSent || a.Subject == WatchOutbox.GivenUp)
            && (a.MailedAt == null || (a.MailedAt < a.RaisedAt && a.MailedAt < quietSince));
    }

    private async Task<bool> WriteAsync(Alert alert, string maker, Shop? shop, string? shelfAddress, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var marked = await db.Alerts
            .Where(IsDue(now)).Where(a => a.Id == alert.Id && a.RaisedAt == alert.RaisedAt)
            .ExecuteUpdateAsync(s => s.SetProperty(a => a.MailedAt, now), cancellationToken);
        if (marked == 0)
            return false;
        var (subject, text) = AlertMail.Write(alert, shop, shelfAddress);
        db.Outbox.Add(new OutboxMail
        {
            Cause = $"alert:{alert.Id}:{alert.RaisedAt.ToUnixTimeMilliseconds()}", To = maker, Subject = subject, Text = text, CreatedAt = now,
        });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return true;
    }
}
