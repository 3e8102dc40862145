using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Payments;

/// <param name="Told">Who had a mail about it.</param>
/// <param name="PayIt">Whose next renewal costs the new price, or has.</param>
/// <param name="Wait">Who will, unless they leave or it is called off.</param>
/// <param name="Untold">Whose mail about it was given up: the old price holds for them until it is sent.</param>
public sealed record PriceChangeLook(PriceChange Change, Plan From, Plan To, int Told, int PayIt, int Wait, int Untold)
{
    /// <summary>Mails about it are being written, or wait to go.</summary>
    public bool IsBeingTold { get; init; }
}

/// <param name="Plan">A plan with how many would be told of another price.</param>
public sealed record PricePlan(Plan Plan, int Payers);

/// <param name="EarliestDay">The first day that leaves people the time of the setting, by the shop's clock.</param>
public sealed record PricesPage(IReadOnlyList<PricePlan> Plans, IReadOnlyList<PriceChangeLook> Changes, LocalDate EarliestDay, int NoticeDays);

/// <summary>What members pay, and the changes of it, newest first.</summary>
public sealed class ReadPrices(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task<PricesPage> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var plans = await db.Plans.AsNoTracking().OrderBy(p => p.Months).ThenBy(p => p.Minor).ToListAsync(cancellationToken);
        var byId = plans.ToDictionary(p => p.Id);
        var changes = await db.PriceChanges.AsNoTracking().OrderByDescending(c => c.Id).Select(c => new
        {
            Change = c,
            Told = db.PriceChangeLines.Count(l => l.PriceChangeId == c.Id),
            PayIt = db.PriceChangeLines.Count(l => l.PriceChangeId == c.Id && l.AppliedAt != null),
            Wait = db.PriceChangeLines.Count(l => l.PriceChangeId == c.Id && l.AppliedAt == null && l.SkippedAt == null),
        }).ToListAsync(cancellationToken);
        var (untold, waits) = (new Dictionary<long, int>(), new HashSet<long>());
        foreach (var change in changes)
        {
            var cause = TellPriceChanges.CauseOf(change.Change.Id, null);
            untold[change.Change.Id] = await db.Outbox.CountAsync(m => m.Cause.StartsWith(cause) && m.GaveUpAt != null, cancellationToken);
            if (change.Change is { ToldAllAt: null, CalledOffAt: null } || await db.Outbox.AnyAsync(m => m.Cause.StartsWith(cause) && m.SentAt == null && m.GaveUpAt == null, cancellationToken))
                waits.Add(change.Change.Id);
        }
        var lines = new List<PricePlan>();
        foreach (var plan in plans)
            lines.Add(new PricePlan(plan, await PriceChangePeople.Of(db, plan.Id, now).CountAsync(cancellationToken)));
        var days = settings.Value.Membership.PriceNoticeDays;
        var zone = ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleAsync(cancellationToken));
        // The day after the one in which the time is over begins when it is.
        return new(lines, [.. changes.Select(c => new PriceChangeLook(c.Change, byId[c.Change.FromPlanId], byId[c.Change.ToPlanId], c.Told, c.PayIt, c.Wait, untold[c.Change.Id]) { IsBeingTold = waits.Contains(c.Change.Id) })],
            now.AddDays(days).ToInstant().InZone(zone).Date.PlusDays(1), days);
    }
}
