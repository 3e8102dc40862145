using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Membership;

/// <summary>Who, of these people, has which of some months paid for or given, and who keeps what was there when they left.</summary>
internal sealed class MonthHolders(IReadOnlySet<(long PersonId, YearMonth Month)> have, Dictionary<long, DateTimeOffset> keptUntil)
{
    /// <summary>Whether the person has one of these months, which must be among those it was loaded for.</summary>
    public bool Has(long personId, IEnumerable<YearMonth> months) => months.Any(m => have.Contains((personId, m)));

    public DateTimeOffset? KeptUntil(long personId) => keptUntil.TryGetValue(personId, out var until) ? until : null;

    /// <summary>Whose gift of a membership has ended and covers this month, so that it is theirs though they are no members any more.</summary>
    /// <param name="db">Where to read.</param>
    /// <param name="month">Which; nobody has one that has not begun.</param>
    /// <param name="at">Now.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    /// <returns>Ids of people, each once.</returns>
    public static async Task<long[]> OfEndedGiftsAsync(ShelfDb db, YearMonth month, DateTimeOffset at, CancellationToken cancellationToken)
    {
        var zone = ReadShop.ZoneOf(await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? "");
        // Whatever month is asked about, also one that no instant of a database lies in.
        if (month.Year < 1970 || month > at.ToInstant().InZone(zone).Date.ToYearMonth())
            return [];
        var (first, after) = (StartOf(month), StartOf(month.PlusMonths(1)));
        var gifts = await db.MembershipGrants.AsNoTracking()
            .Where(g => g.Until != null && g.Until <= at && g.Until > first && g.From < after).ToListAsync(cancellationToken);
        return [.. gifts.Where(g => PaidMonths.OfGift(g.From, g.Until, at, zone).Contains(month)).Select(g => g.PersonId).Distinct()];

        DateTimeOffset StartOf(YearMonth of) => zone.AtStartOfDay(of.OnDayOfMonth(1)).ToDateTimeOffset();
    }

    /// <param name="db">Where to read.</param>
    /// <param name="months">Which.</param>
    /// <param name="people">At most a few hundred: each is a parameter of the questions.</param>
    /// <param name="at">Now.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static async Task<MonthHolders> LoadAsync(
        ShelfDb db, IReadOnlyCollection<YearMonth> months, IReadOnlyCollection<long> people, DateTimeOffset at, CancellationToken cancellationToken)
    {
        var shop = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => new { s.TimeZone, s.AfterLeaving }).SingleOrDefaultAsync(cancellationToken);
        var have = new HashSet<(long, YearMonth)>();
        if (months.Count > 0)
        {
            var paid = await db.PaidMonths.Where(m => months.Contains(m.Month) && m.OpensAt <= at && people.Contains(m.PersonId))
                .Select(m => new { m.PersonId, m.Month }).ToListAsync(cancellationToken);
            have.UnionWith(paid.Select(m => (m.PersonId, m.Month)));
            var zone = ReadShop.ZoneOf(shop?.TimeZone ?? "");
            var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.From <= at && people.Contains(g.PersonId)).ToListAsync(cancellationToken);
            have.UnionWith(grants.SelectMany(g => PaidMonths.OfGift(g.From, g.Until, at, zone).Select(m => (g.PersonId, m))));
        }
        var everyone = shop?.AfterLeaving == AfterLeaving.AllTillThen;
        var kept = await db.PaidMemberships.Where(m => m.StartedAt <= at && m.PaidThrough != null && people.Contains(m.PersonId) && (everyone || m.JoinedUnder == AfterLeaving.AllTillThen))
            .GroupBy(m => m.PersonId).Select(g => new { g.Key, Until = g.Max(m => m.ActiveUntil) }).ToDictionaryAsync(g => g.Key, g => g.Until, cancellationToken);
        return new(have, kept);
    }
}
