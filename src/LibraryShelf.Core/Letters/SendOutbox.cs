using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters;

/// <summary>What one round through the outbox came to. <paramref name="NextTryAt"/>: when the next mail that waits is due; null: none waits.</summary>
public sealed record OutboxRound(int Sent, int PutOff, int GivenUp, DateTimeOffset? NextTryAt);

/// <summary>
/// Sends every mail that is due. A mail is taken by one sender at a time (the row says so before the wire is touched); a sender
/// that dies half-way leaves it to be tried again, so a mail may arrive twice, with the same Message-ID, but is never lost.
/// </summary>
public sealed class SendOutbox(
    ShelfDb db, IMailer mailer, TimeProvider clock, IOptions<ShelfSettings> settings, ILogger<SendOutbox> log)
{
    /// <summary>How long to wait after each failed try. Public so that docs and tests name the same figures.</summary>
    public static IReadOnlyList<TimeSpan> Waits { get; } =
    [
        TimeSpan.FromMinutes(1), TimeSpan.FromMinutes(5), TimeSpan.FromMinutes(15), TimeSpan.FromHours(1),
        TimeSpan.FromHours(4), TimeSpan.FromHours(12), TimeSpan.FromHours(24),
    ];

    /// <summary>How long one sender may hold a mail before another takes it to be dead.</summary>
    private static readonly TimeSpan Held = TimeSpan.FromMinutes(5);

    public async Task<OutboxRound> RunAsync(CancellationToken cancellationToken)
    {
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        int sent = 0, putOff = 0, givenUp = 0;
        // Again until none is due: a mail written while we send has its wake-up swallowed by this very run.
        while (await DueAsync(cancellationToken) is { Count: > 0 } due)
        foreach (var mail in due)
        {
            if (!await TakeAsync(mail, cancellationToken))
                continue;
            var trouble = await TrySendAsync(mail, shop, cancellationToken);
            if (trouble is null) sent++;
            else if (trouble.IsPermanent || mail.Attempts >= Waits.Count) givenUp++;
            else putOff++;
            await WriteDownAsync(mail, trouble, cancellationToken);
        }
        var next = await db.Outbox.Where(m => m.SentAt == null && m.GaveUpAt == null)
            .MinAsync(m => (DateTimeOffset?)(m.NextTryAt ?? m.CreatedAt), cancellationToken);
        return new(sent, putOff, givenUp, next);
    }

    private async Task<List<OutboxMail>> DueAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await db.Outbox.AsNoTracking()
            .Where(m => m.SentAt == null && m.GaveUpAt == null && (m.NextTryAt == null || m.NextTryAt <= now))
            .OrderBy(m => m.Id).Take(100).ToListAsync(cancellationToken);
    }

    private async Task<bool> TakeAsync(OutboxMail mail, CancellationToken cancellationToken)
    {
        var until = clock.GetUtcNow() + Held;
        return await db.Outbox
            .Where(m => m.Id == mail.Id && m.SentAt == null && m.Attempts == mail.Attempts)
            .ExecuteUpdateAsync(s => s
                .SetProperty(m => m.Attempts, m => m.Attempts + 1)
                .SetProperty(m => m.NextTryAt, until), cancellationToken) == 1;
    }

    private async Task<MailRefusedException?> TrySendAsync(OutboxMail mail, Shop? shop, CancellationToken cancellationToken)
    {
        var from = FromAddress(shop);
        // The row's own time keeps two shelves at one domain apart; the same for every try, so that a receiver sees doubles.
        var id = $"{mail.Cause.Replace(':', '.')}.{mail.CreatedAt.ToUnixTimeMilliseconds()}@{from[(from.IndexOf('@') + 1)..]}";
        try
        {
            await mailer.SendAsync(
                new MailToSend(id, MailWords.ShopName(shop), from, mail.To, mail.Subject, mail.Text, mail.CreatedAt), cancellationToken);
            return null;
        }
        catch (MailRefusedException refused)
        {
            log.LogWarning("Mail {Cause} was not taken: {Words}", mail.Cause, refused.Message);
            return refused;
        }
    }

    private Task<int> WriteDownAsync(OutboxMail mail, MailRefusedException? trouble, CancellationToken cancellationToken)
    {
        var row = db.Outbox.Where(m => m.Id == mail.Id);
        var now = clock.GetUtcNow();
        if (mail.Cause.StartsWith(OutboxMail.Last, StringComparison.Ordinal) && (trouble is null || trouble.IsPermanent || mail.Attempts >= Waits.Count))
            return row.ExecuteDeleteAsync(cancellationToken);
        if (trouble is null)
            return row.ExecuteUpdateAsync(s => s
                .SetProperty(m => m.SentAt, now).SetProperty(m => m.NextTryAt, (DateTimeOffset?)null)
                .SetProperty(m => m.Text, "").SetProperty(m => m.LastError, (string?)null), cancellationToken);
        if (trouble.IsPermanent || mail.Attempts >= Waits.Count)
            return row.ExecuteUpdateAsync(s => s
                .SetProperty(m => m.GaveUpAt, now).SetProperty(m => m.NextTryAt, (DateTimeOffset?)null)
                .SetProperty(m => m.Text, "").SetProperty(m => m.LastError, trouble.Message), cancellationToken);
        var next = now + Waits[mail.Attempts];
        return row.ExecuteUpdateAsync(s => s
            .SetProperty(m => m.NextTryAt, next).SetProperty(m => m.LastError, trouble.Message), cancellationToken);
    }

    private string FromAddress(Shop? shop)
    {
        string?[] candidates = [settings.Value.Mail.FromAddress, shop?.Contact];
        return candidates.Select(Accounts.EmailAddress.Tidy).FirstOrDefault(a => a is not null) ?? "shelf@localhost";
    }
}
