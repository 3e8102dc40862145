using System.Linq.Expressions;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters;

/// <summary>What one round through the outbox came to. <paramref name="NextTryAt"/>: when there is something to do again; null: nothing waits.</summary>
public sealed record OutboxRound(int Sent, int PutOff, int GivenUp, DateTimeOffset? NextTryAt)
{
    /// <summary>Not wanted, or not needed any more.</summary>
    public int LeftOut { get; init; }

    /// <summary>It ended before its time, because the mail server is away or takes no mail of the shelf's.</summary>
    public bool IsServerAway { get; init; }
}

/// <summary>
/// Sends every mail that is due, as many an hour as the settings allow. A mail is taken by one sender at a time (the row says so before the wire is
/// touched); a sender that dies half-way leaves it to be tried again, so a mail may arrive twice, with the same Message-ID, but is never lost. What
/// somebody waits for (a sign-in mail) goes first, whatever waits and however many, and is never held. While the mail server is away no letter loses a
/// try: it goes back, and the round ends, however long that lasts. A shelf that is only there to try a backup sends nothing at all. What the maker stopped (<see cref="Runs.StopMails"/>) waits. A fault with one mail keeps no other from going.
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

    private static readonly TimeSpan Hour = TimeSpan.FromHours(1);

    /// <summary>After so many, it is looked whether somebody waits for a sign-in mail.</summary>
    private const int AtATime = 10;

    public async Task<OutboxRound> RunAsync(CancellationToken cancellationToken)
    {
        var round = new OutboxRound(0, 0, 0, null);
        if (await ShelfHold.IsTrialAsync(db, cancellationToken))
            return round;
        // Again until none is due: a mail written while we send has its wake-up swallowed by this very run.
        while (!round.IsServerAway && await DueAsync(cancellationToken) is { Count: > 0 } due)
        foreach (var mail in due.TakeWhile(_ => !round.IsServerAway))
        {
            if (await TakeAsync(mail, cancellationToken))
                round = await SendOrNoteAsync(mail, round, cancellationToken);
            // A drop's letters are many, and each reads a good deal.
            db.ChangeTracker.Clear();
        }
        return round with { NextTryAt = await NextAsync(cancellationToken) };
    }

    private async Task<List<OutboxMail>> DueAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var due = Open().Where(m => m.NextTryAt == null || m.NextTryAt <= now);
        var waitedFor = await due.Where(MailKinds.IsWaitedFor).OrderBy(m => m.NextTryAt ?? m.CreatedAt).ThenBy(m => m.Id).Take(AtATime).ToListAsync(cancellationToken);
        if (waitedFor.Count > 0 || await IsHeldAsync(cancellationToken))
            return waitedFor;
        var room = Math.Min(AtATime, await RoomAsync(now, cancellationToken));
        // What is written already is about one person's doing and goes before the many. What was tried in vain goes behind what was not: one mail that ends
        // each round it is in must not stand before all others.
        return room <= 0 ? [] : await due.OrderBy(m => m.AboutId != null).ThenBy(m => m.NextTryAt ?? m.CreatedAt).ThenBy(m => m.Id).Take(room).ToListAsync(cancellationToken);
    }

    private async Task<OutboxRound> SendOrNoteAsync(OutboxMail mail, OutboxRound round, CancellationToken cancellationToken)
    {
        try
        {
            return await SendAsync(mail, round, cancellationToken);
        }
#pragma warning disable CA1031 // Whatever is wrong with one mail, the others go; the row and the log say it.
        catch (Exception fault) when (!cancellationToken.IsCancellationRequested)
#pragma warning restore CA1031
        {
            log.LogError(fault, "Mail {Cause} could not be made or sent.", mail.Cause);
            db.ChangeTracker.Clear();
            // Counted by its age, because a fault counts no tries: soon at first, once a day in the end.
            var age = clock.GetUtcNow() - mail.CreatedAt;
            await PutBackAsync(mail, age < Held ? Held : age < Waits[^1] ? age : Waits[^1], T($"A fault of the shelf: {fault.Message}"), cancellationToken);
            return round with { PutOff = round.PutOff + 1 };
        }
    }

    private async Task<OutboxRound> SendAsync(OutboxMail mail, OutboxRound round, CancellationToken cancellationToken)
    {
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var prepared = await new MailPreparation(db, clock, settings).RunAsync(mail, shop, cancellationToken);
        if (prepared is not PreparedMail.Ready ready)
        {
            var left = (PreparedMail.LeftOut)prepared;
            await LeaveOutAsync(mail, left, cancellationToken);
            return left.HasToBeTold ? round with { GivenUp = round.GivenUp + 1 } : round with { LeftOut = round.LeftOut + 1 };
        }
        var trouble = await TrySendAsync(mail, ready.Mail, cancellationToken);
        round = round with { IsServerAway = trouble is { IsAboutServer: true } };
        if (round.IsServerAway && !MailKinds.IsMailWaitedFor(mail.Cause))
        {
            await PutBackAsync(mail, Held, trouble!.Message, cancellationToken);
            return round with { PutOff = round.PutOff + 1 };
        }
        await WriteDownAsync(mail, ready.Mail, trouble, cancellationToken);
        if (trouble is { IsPermanent: true, IsAboutMailbox: true } && ready.IsKnown)
            await SuppressAsync(ready.Mail.To, trouble.Message, cancellationToken);
        return trouble is null ? round with { Sent = round.Sent + 1 }
            : IsOver(mail, trouble) ? round with { GivenUp = round.GivenUp + 1 } : round with { PutOff = round.PutOff + 1 };
    }

    private IQueryable<OutboxMail> Open() => db.Outbox.AsNoTracking().Where(m => m.SentAt == null && m.GaveUpAt == null).NotStopped(db);

    private Task<bool> IsHeldAsync(CancellationToken cancellationToken) => ShelfHold.IsHeldAsync(db, cancellationToken);

    /// <summary>What was sent by a clock that has been set back since is of no hour.</summary>
    private static Expression<Func<OutboxMail, bool>> SentWithinTheHour(DateTimeOffset now)
    {
        var since = now - Hour;
        return m => m.SentAt > since && m.SentAt <= now;
    }

    /// <summary>How many more may go now.</summary>
    private async Task<int> RoomAsync(DateTimeOffset now, CancellationToken cancellationToken) => settings.Value.Mail.MostAnHour is var most and > 0
        ? most - await db.Outbox.CountAsync(SentWithinTheHour(now), cancellationToken)
        : int.MaxValue;

    private async Task<DateTimeOffset?> NextAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var open = await IsHeldAsync(cancellationToken) ? Open().Where(MailKinds.IsWaitedFor) : Open();
        var next = await open.MinAsync(m => (DateTimeOffset?)(m.NextTryAt ?? m.CreatedAt), cancellationToken);
        if (next is null || next > now || await RoomAsync(now, cancellationToken) > 0)
            return next;
        return await db.Outbox.Where(SentWithinTheHour(now)).MinAsync(m => m.SentAt, cancellationToken) + Hour;
    }

    private async Task<bool> TakeAsync(OutboxMail mail, CancellationToken cancellationToken)
    {
        var until = clock.GetUtcNow() + Held;
        // Stopped since it was read: it waits with the others.
        return await db.Outbox.NotStopped(db)
            .Where(m => m.Id == mail.Id && m.SentAt == null && m.GaveUpAt == null && m.Attempts == mail.Attempts && m.NextTryAt == mail.NextTryAt)
            .ExecuteUpdateAsync(s => s
                .SetProperty(m => m.Attempts, m => m.Attempts + 1)
                .SetProperty(m => m.NextTryAt, until), cancellationToken) == 1;
    }

    private async Task<MailRefusedException?> TrySendAsync(OutboxMail row, MailToSend mail, CancellationToken cancellationToken)
    {
        try
        {
            await mailer.SendAsync(mail, cancellationToken);
            return null;
        }
        catch (MailRefusedException refused)
        {
            log.LogWarning("Mail {Cause} was not taken: {Words}", row.Cause, refused.Message);
            return refused;
        }
    }

    private static bool IsOver(OutboxMail mail, MailRefusedException trouble) => trouble.IsPermanent || mail.Attempts >= Waits.Count;

    private Task<int> WriteDownAsync(OutboxMail mail, MailToSend said, MailRefusedException? trouble, CancellationToken cancellationToken)
    {
        var row = db.Outbox.Where(m => m.Id == mail.Id);
        var now = clock.GetUtcNow();
        if (mail.Cause.StartsWith(OutboxMail.Last, StringComparison.Ordinal) && (trouble is null || IsOver(mail, trouble)))
            return row.ExecuteDeleteAsync(cancellationToken);
        if (trouble is null)
            return row.ExecuteUpdateAsync(s => s
                .SetProperty(m => m.SentAt, now).SetProperty(m => m.NextTryAt, (DateTimeOffset?)null)
                .SetProperty(m => m.To, said.To).SetProperty(m => m.Subject, said.Subject)
                .SetProperty(m => m.Text, "").SetProperty(m => m.LastError, (string?)null), cancellationToken);
        var kept = Kept(mail);
        if (IsOver(mail, trouble))
            return row.ExecuteUpdateAsync(s => s
                .SetProperty(m => m.GaveUpAt, now).SetProperty(m => m.NextTryAt, (DateTimeOffset?)null)
                .SetProperty(m => m.To, said.To).SetProperty(m => m.Subject, said.Subject)
                .SetProperty(m => m.Text, kept).SetProperty(m => m.LastError, trouble.Message), cancellationToken);
        var next = now + Waits[mail.Attempts];
        return row.ExecuteUpdateAsync(s => s
            .SetProperty(m => m.To, said.To).SetProperty(m => m.Subject, said.Subject)
            .SetProperty(m => m.NextTryAt, next).SetProperty(m => m.LastError, trouble.Message), cancellationToken);
    }

    /// <summary>Of the text, for another try: nothing that opens anything.</summary>
    private static string Kept(OutboxMail mail) => MailKinds.IsAskedForAnew(mail.Cause) ? "" : LeaveLink.Strip(mail.Text);

    /// <summary>It was nothing the other side said of this mail, so it costs none of its tries.</summary>
    private Task<int> PutBackAsync(OutboxMail mail, TimeSpan wait, string why, CancellationToken cancellationToken)
    {
        var next = clock.GetUtcNow() + wait;
        return db.Outbox.Where(m => m.Id == mail.Id && m.SentAt == null).ExecuteUpdateAsync(s => s
            .SetProperty(m => m.Attempts, mail.Attempts).SetProperty(m => m.NextTryAt, next).SetProperty(m => m.LastError, why), cancellationToken);
    }

    /// <summary>It ends quietly: nobody failed, so no tries stand at it and nobody is alerted; unless it is what they have to hear of.</summary>
    private Task<int> LeaveOutAsync(OutboxMail mail, PreparedMail.LeftOut left, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        if (mail.Cause.StartsWith(OutboxMail.Last, StringComparison.Ordinal))
            return db.Outbox.Where(m => m.Id == mail.Id).ExecuteDeleteAsync(cancellationToken);
        var tries = left.HasToBeTold ? mail.Attempts + 1 : 0;
        var kept = left.HasToBeTold ? Kept(mail) : "";
        return db.Outbox.Where(m => m.Id == mail.Id).ExecuteUpdateAsync(s => s
            .SetProperty(m => m.GaveUpAt, now).SetProperty(m => m.Attempts, tries).SetProperty(m => m.NextTryAt, (DateTimeOffset?)null)
            .SetProperty(m => m.Text, kept).SetProperty(m => m.LastError, left.Why), cancellationToken);
    }

    private async Task SuppressAsync(string address, string because, CancellationToken cancellationToken)
    {
        var normalized = EmailAddress.Normalize(address);
        if (await db.MailSuppressions.AnyAsync(s => s.NormalizedEmail == normalized, cancellationToken))
            return;
        db.MailSuppressions.Add(new MailSuppression { NormalizedEmail = normalized, Because = because, At = clock.GetUtcNow() });
        try
        {
            await db.SaveChangesAsync(cancellationToken);
        }
        catch (DbUpdateException)
        {
            // Another sender wrote it a moment ago: what was to be said is said.
            db.ChangeTracker.Clear();
        }
    }
}
