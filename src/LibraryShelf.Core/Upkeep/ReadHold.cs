using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Upkeep;

/// <param name="Since">When the shelf was restored.</param>
/// <param name="OldMails">Mails that waited when the backup was made, but for <see cref="PriceMails"/>; they may have been sent since, by the shelf that was lost.</param>
/// <param name="NewMails">Mails written since it was restored.</param>
/// <param name="DueDrops">Drops whose time has come, by their time; they may have gone out since, too.</param>
public sealed record Hold(DateTimeOffset Since, int OldMails, int NewMails, IReadOnlyList<HeldDrop> DueDrops)
{
    /// <summary>Of those that waited, the mails about a change of price: they can't be thrown away.</summary>
    public int PriceMails { get; init; }

    /// <summary>Versions that came or went, or that the maker wrote about, shortly before the backup was made, whose mails were not all written.</summary>
    public int Untold { get; init; }

    /// <summary>Credits, payments back and changes of price that are due at the payment provider.</summary>
    public int Money { get; init; }

    /// <summary>Only there to try a backup: nothing ends it.</summary>
    public bool IsTrial { get; init; }
}

/// <param name="IsAsking">It does not go out by itself when the hold ends, but waits for its maker's word (<see cref="Drop.AsksSince"/>).</param>
public sealed record HeldDrop(YearMonth Month, string Title, DateTimeOffset DueAt, bool IsAsking);

/// <summary>What a restored shelf holds back until the maker says that it is the one shelf; null when nothing is held.</summary>
public sealed class ReadHold(ShelfDb db, TimeProvider clock)
{
    public async Task<Hold?> RunAsync(CancellationToken cancellationToken)
    {
        if (await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken) is not { HeldSince: { } since } shop)
            return null;
        var now = clock.GetUtcNow();
        var waiting = db.Outbox.NotStopped(db).Where(m => m.SentAt == null && m.GaveUpAt == null);
        var drops = await db.Drops.AsNoTracking().Where(d => d.State == DropState.Planned && d.DueAt <= now).OrderBy(d => d.DueAt)
            .Select(d => new HeldDrop(d.Month, d.Title, d.DueAt, d.AsksSince != null)).ToListAsync(cancellationToken);
        var old = OldMails(db, since);
        var oldMails = await old.CountAsync(MailKinds.IsNotAboutPrice, cancellationToken);
        return new(since, oldMails, await waiting.CountAsync(m => m.CreatedAt >= since, cancellationToken), drops)
        {
            PriceMails = await old.CountAsync(cancellationToken) - oldMails,
            IsTrial = shop.IsTrial,
            Untold = await db.Releases.CountAsync(r => r.TellAskedAt < since || db.BehindLetters.Any(l => l.ReleaseId == r.Id && l.DoneAt == null && l.AskedAt < since), cancellationToken),
            Money = await db.MonthCreditLines.CountAsync(l => l.CreditedAt == null, cancellationToken) + await ApplyPriceChanges.DueLines(db, now).CountAsync(cancellationToken),
        };
    }

    /// <summary>Those that waited when the backup was made. What the maker had stopped waits on for a word of its own, however the hold ends.</summary>
    internal static IQueryable<OutboxMail> OldMails(ShelfDb db, DateTimeOffset since) => db.Outbox.NotStopped(db).Where(m => m.SentAt == null && m.GaveUpAt == null && m.CreatedAt < since);
}
