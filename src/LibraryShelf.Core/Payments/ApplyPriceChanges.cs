using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Tells the payment provider the new price of each membership whose day has come, once it has been told long enough: the next renewal costs it. A renewal that
/// comes before the provider could be told costs the old price once more. Told is who was sent the mail, not for whom it was written.
/// </summary>
public sealed class ApplyPriceChanges(ShelfDb db, IPayments payments, LookAgain lookAgain, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>How long until it is looked again whether the mail went meanwhile.</summary>
    private static readonly TimeSpan UntoldWait = TimeSpan.FromHours(6);

    private int _untold;

    /// <param name="shelfAddress">For mails that may follow, without a slash at its end.</param>
    /// <param name="cancellationToken">Ends it between two memberships or within one.</param>
    /// <returns>What could not be done, for the maker; null: all of it was, or the shelf is held (<see cref="Shop.HeldSince"/>) and it waits.</returns>
    public async Task<string?> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        if (await ShelfHold.IsHeldAsync(db, cancellationToken))
            return null;
        db.IsMoney = true;
        _untold = 0;
        var tries = new MoneyTries(clock);
        while (!tries.IsAway && await NextAsync(cancellationToken) is { } line)
        {
            var isOff = await db.PriceChanges.AnyAsync(c => c.Id == line.PriceChangeId && c.CalledOffAt != null, cancellationToken);
            await tries.TryAsync(() => isOff ? PutBackAsync(line, shelfAddress, cancellationToken) : ApplyAsync(line, shelfAddress, cancellationToken), async until =>
            {
                line.NextTryAt = until;
                await db.SaveChangesAsync(cancellationToken);
            });
            db.ChangeTracker.Clear();
        }
        string?[] words =
        [
            tries.Words((members, answer) => T($"The new price of {members} could not be told to the payment provider. The old one holds until it is; it is tried again each hour. The last answer was: {answer}")),
            Untold(),
        ];
        return string.Join(' ', words.OfType<string>()) is { Length: > 0 } said ? said : null;
    }

    private string? Untold() => _untold switch
    {
        0 => null,
        1 => T("1 member was not mailed that the price changes, so the old one holds for them. The outbox says why, and there their mail is tried again: the days they have to leave begin when it is sent."),
        _ => T($"{_untold} members were not mailed that the price changes, so the old one holds for them. The outbox says why, and there their mail is tried again: the days they have to leave begin when it is sent."),
    };

    private Task<PriceChangeLine?> NextAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var toldBy = now.AddDays(-settings.Value.Membership.PriceNoticeDays);
        return DueLines(db, now).Where(l => l.ToldAt <= toldBy && (l.NextTryAt == null || l.NextTryAt <= now))
            .Union(Begun(db).Where(l => l.NextTryAt <= now))
            .OrderBy(l => l.PriceChangeId).ThenBy(l => l.PaidMembershipId).FirstOrDefaultAsync(cancellationToken);
    }

    /// <summary>Lines whose day has come.</summary>
    internal static IQueryable<PriceChangeLine> DueLines(ShelfDb db, DateTimeOffset now) => db.PriceChangeLines.Where(
        l => l.AppliedAt == null && l.SkippedAt == null && db.PriceChanges.Any(c => c.Id == l.PriceChangeId && c.CalledOffAt == null && c.From <= now));

    /// <summary>Called off after the provider may have been told: whether it took the new price is not known, so it is told the old one.</summary>
    internal static IQueryable<PriceChangeLine> Begun(ShelfDb db) => db.PriceChangeLines.Where(
        l => l.AppliedAt == null && l.SkippedAt == null && l.NextTryAt != null && db.PriceChanges.Any(c => c.Id == l.PriceChangeId && c.CalledOffAt != null));

    private async Task ApplyAsync(PriceChangeLine line, string? shelfAddress, CancellationToken cancellationToken)
    {
        var change = await db.PriceChanges.AsNoTracking().SingleAsync(c => c.Id == line.PriceChangeId, cancellationToken);
        var membership = await db.PaidMemberships.AsNoTracking().SingleAsync(m => m.Id == line.PaidMembershipId, cancellationToken);
        if (membership.EndedAt is not null || membership.PlanId != change.FromPlanId)
        {
            line.SkippedAt = clock.GetUtcNow();
            await db.SaveChangesAsync(cancellationToken);
            return;
        }
        if (await WaitsForItsMailAsync(line, cancellationToken))
            return;
        var plan = await db.Plans.SingleAsync(p => p.Id == change.ToPlanId, cancellationToken);
        var price = await PlanPrice.OfAsync(db, payments, plan, cancellationToken);
        // Begun stands in the row before the provider is told, so that calling it off meanwhile knows that it may have been.
        line.NextTryAt = clock.GetUtcNow();
        await db.SaveChangesAsync(cancellationToken);
        await payments.ChangePriceAsync(membership.ProviderId, price, $"price-{change.Id}-{membership.Id}", cancellationToken);
        var now = clock.GetUtcNow();
        await db.PriceChangeLines.Where(l => l.PriceChangeId == line.PriceChangeId && l.PaidMembershipId == line.PaidMembershipId
                && db.PriceChanges.Any(c => c.Id == l.PriceChangeId && c.CalledOffAt == null))
            .ExecuteUpdateAsync(s => s.SetProperty(l => l.AppliedAt, now), cancellationToken);
        await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
    }

    /// <summary>Nobody pays more untold: the days to leave in begin when the mail went.</summary>
    private async Task<bool> WaitsForItsMailAsync(PriceChangeLine line, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var cause = TellPriceChanges.CauseOf(line.PriceChangeId, line.PaidMembershipId);
        var sentAt = await db.Outbox.Where(m => m.Cause == cause).Select(m => m.SentAt).SingleOrDefaultAsync(cancellationToken);
        var notice = TimeSpan.FromDays(settings.Value.Membership.PriceNoticeDays);
        if (sentAt + notice <= now)
            return false;
        if (sentAt is null)
            _untold++;
        line.NextTryAt = sentAt + notice ?? now + UntoldWait;
        await db.SaveChangesAsync(cancellationToken);
        return true;
    }

    private async Task PutBackAsync(PriceChangeLine line, string? shelfAddress, CancellationToken cancellationToken)
    {
        var membership = await db.PaidMemberships.AsNoTracking().SingleAsync(m => m.Id == line.PaidMembershipId, cancellationToken);
        var from = await db.PriceChanges.Where(c => c.Id == line.PriceChangeId).Select(c => c.FromPlanId).SingleAsync(cancellationToken);
        if (membership.EndedAt is null)
        {
            var price = await PlanPrice.OfAsync(db, payments, await db.Plans.SingleAsync(p => p.Id == from, cancellationToken), cancellationToken);
            await payments.ChangePriceAsync(membership.ProviderId, price, $"price-off-{line.PriceChangeId}-{membership.Id}", cancellationToken);
        }
        line.SkippedAt = clock.GetUtcNow();
        await db.SaveChangesAsync(cancellationToken);
        await lookAgain.RunAsync(membership.ProviderId, shelfAddress, cancellationToken);
    }
}
