using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Mail;

/// <summary>The newest mails of the outbox, for the workbench: where they stand, never what they say.</summary>
public sealed class ReadOutbox(ShelfDb db)
{
    public const int Most = 100;

    public async Task<IReadOnlyList<OutboxLine>> RunAsync(CancellationToken cancellationToken) =>
        await db.Outbox.AsNoTracking().OrderByDescending(m => m.Id).Take(Most)
            .Select(m => new OutboxLine(m.To, m.Subject, m.CreatedAt, m.SentAt, m.GaveUpAt, m.NextTryAt, m.Attempts, m.LastError))
            .ToListAsync(cancellationToken);
}

public sealed record OutboxLine(
    string To, string Subject, DateTimeOffset CreatedAt, DateTimeOffset? SentAt, DateTimeOffset? GaveUpAt,
    DateTimeOffset? NextTryAt, int Attempts, string? LastError);
