using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Drops;

public abstract record TellOfSlipOutcome
{
    private TellOfSlipOutcome() { }

    /// <summary>It is said, and so many mails stand in the outbox: wake the mail job.</summary>
    public sealed record Told(int Mails) : TellOfSlipOutcome;

    /// <summary>The reason is empty or too long; nobody was told.</summary>
    public sealed record NoReason : TellOfSlipOutcome;

    /// <summary>It is out, so it can't slip; nobody was told.</summary>
    public sealed record IsOut : TellOfSlipOutcome;

    /// <summary>Nobody planned it, and it is no month that anybody waits for; nobody was told.</summary>
    public sealed record NotExpected : TellOfSlipOutcome;

    /// <summary>The month was changed, or told of, since the page was opened; nobody was told now.</summary>
    public sealed record ChangedMeanwhile : TellOfSlipOutcome;
}

/// <summary>
/// Tells members, and whoever paid for it, that a month's drop does not come when it should, and why. A month nobody planned can slip too. The letter is
/// composed when it is sent: told anew, the newest tells; out meanwhile, nobody is told any more. What the month cost is credited on its own (<see cref="Payments.CreditMonth"/>).
/// </summary>
public sealed class TellOfSlip(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public const int LongestReason = 1_000;

    /// <param name="month">Which.</param>
    /// <param name="reason">Stands in the mail and on the shelf.</param>
    /// <param name="revision">The <see cref="Drop.Revision"/> that was looked at; null: the month had no drop.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public Task<TellOfSlipOutcome> RunAsync(YearMonth month, string? reason, int? revision, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<TellOfSlipOutcome>(db, () => TellAsync(month, (reason ?? "").Trim(), revision, cancellationToken), () => new TellOfSlipOutcome.ChangedMeanwhile());

    private async Task<TellOfSlipOutcome> TellAsync(YearMonth month, string reason, int? revision, CancellationToken cancellationToken)
    {
        if (reason.Length is 0 or > LongestReason)
            return new TellOfSlipOutcome.NoReason();
        // Once in a while it is cold, and working the question out takes longer than asking it: nobody is kept from writing meanwhile.
        await DropMails.WarmUpAsync(db, month, clock.GetUtcNow(), cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken) ?? new Shop();
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop?.Revision != revision)
            return new TellOfSlipOutcome.ChangedMeanwhile();
        if (drop?.State == DropState.Sent)
            return new TellOfSlipOutcome.IsOut();
        if (drop is null && !IsExpected(month, DropWhen.MonthAt(now, ReadShop.ZoneOf(shop.TimeZone))))
            return new TellOfSlipOutcome.NotExpected();
        if (drop is null)
            db.Drops.Add(drop = new Drop { Month = month, Day = shop.DropDay, Time = shop.DropTime, Zone = shop.TimeZone, DueAt = MonthRows.Usual(month, shop), State = DropState.Cancelled, CreatedAt = now, Revision = -1 });
        (drop.SlippedAt, drop.SlippedBecause) = (now, reason);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        var mails = await DropMails.WriteSlipAsync(db, drop, TimeSpan.FromHours(settings.Value.Mail.SpreadHours), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new TellOfSlipOutcome.Told(mails);
    }

    private static bool IsExpected(YearMonth month, YearMonth first) => month >= first.PlusMonths(-DropWhen.MonthsBack) && month <= first.PlusMonths(1);
}
