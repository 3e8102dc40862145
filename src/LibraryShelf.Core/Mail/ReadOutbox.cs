using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Mail;

/// <summary>The newest mails of the outbox, for the workbench: where they stand, never what they say; and what stands in the way of sending.</summary>
public sealed class ReadOutbox(ShelfDb db)
{
    public const int Most = 100;

    public async Task<OutboxPage> RunAsync(CancellationToken cancellationToken)
    {
        return new(
            await LinesAsync(db.Outbox, cancellationToken), await LinesAsync(db.Outbox.Where(m => m.GaveUpAt != null && m.Attempts > 0), cancellationToken),
            await db.Outbox.NotStopped(db).CountAsync(m => m.SentAt == null && m.GaveUpAt == null, cancellationToken),
            await db.MailSuppressions.AsNoTracking().OrderByDescending(s => s.At).ThenByDescending(s => s.Id).Take(Most).ToListAsync(cancellationToken),
            await db.Shops.Select(s => s.HeldSince).SingleOrDefaultAsync(cancellationToken));
    }

    private async Task<List<OutboxLine>> LinesAsync(IQueryable<OutboxMail> mails, CancellationToken cancellationToken) =>
        (await mails.AsNoTracking().OrderByDescending(m => m.Id).Take(Most)
            .Select(m => new { Mail = m, IsStopped = db.MailHolds.Any(h => h.AboutId == m.AboutId && m.Cause.StartsWith(h.Begins)), Now = db.Users.Where(p => p.Id == m.PersonId).Select(p => p.Email).FirstOrDefault() }).ToListAsync(cancellationToken))
        .ConvertAll(r => new OutboxLine(
            r.Mail.Id, r.Mail.To.Length > 0 ? r.Mail.To : r.Now ?? "", r.Mail.Subject, MailKinds.Of(r.Mail.Cause), r.Mail.CreatedAt, r.Mail.SentAt, r.Mail.GaveUpAt, r.Mail.NextTryAt,
            r.Mail.Attempts, r.Mail.LastError, r.Mail.IsLeftOut, r.Mail.CanBeTriedAgain) { IsStopped = r.IsStopped });
}

/// <param name="Lines">Newest first.</param>
/// <param name="GivenUp">Those that failed for good; newest first.</param>
/// <param name="Waiting">How many are still to be sent, of all, without those that were stopped.</param>
/// <param name="Suppressions">Mailboxes that refused for good; newest first.</param>
/// <param name="HeldSince">Since when nothing but sign-in mails is sent; null: nothing is held.</param>
public sealed record OutboxPage(IReadOnlyList<OutboxLine> Lines, IReadOnlyList<OutboxLine> GivenUp, int Waiting, IReadOnlyList<MailSuppression> Suppressions, DateTimeOffset? HeldSince);

/// <param name="To">As it was sent, or as it would be now; "": not known any more, or only when it is sent.</param>
/// <param name="Subject">"": composed when it is sent.</param>
/// <param name="CanBeTriedAgain">It was given up, and can be put back.</param>
public sealed record OutboxLine(
    long Id, string To, string Subject, MailKind Kind, DateTimeOffset CreatedAt, DateTimeOffset? SentAt, DateTimeOffset? GaveUpAt,
    DateTimeOffset? NextTryAt, int Attempts, string? LastError, bool IsLeftOut, bool CanBeTriedAgain)
{
    /// <summary>The maker stopped it with others (<see cref="MailHold"/>), sent since or not.</summary>
    public bool IsStopped { get; init; }
}
