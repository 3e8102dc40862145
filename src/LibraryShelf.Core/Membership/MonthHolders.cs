using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Who, of everybody, has a library by a month they paid for or were given, and who keeps what was there when they left.</summary>
internal sealed class MonthHolders(IReadOnlySet<long> haveMonth, Dictionary<long, DateTimeOffset> keptUntil)
{
    public IReadOnlySet<long> HaveMonth => haveMonth;

    public DateTimeOffset? KeptUntil(long personId) => keptUntil.TryGetValue(personId, out var until) ? until : null;

    public static async Task<MonthHolders> LoadAsync(ShelfDb db, Library library, DateTimeOffset at, CancellationToken cancellationToken)
    {
        var shop = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => new { s.TimeZone, s.AfterLeaving }).SingleOrDefaultAsync(cancellationToken);
        var have = new HashSet<long>();
        if (library.Month is { } month)
        {
            have.UnionWith(await db.PaidMonths.Where(m => m.Month == month && m.OpensAt <= at).Select(m => m.PersonId).ToListAsync(cancellationToken));
            var zone = ReadShop.ZoneOf(shop?.TimeZone ?? "");
            var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.From <= at).ToListAsync(cancellationToken);
            have.UnionWith(grants.Where(g => PaidMonths.OfGift(g.From, g.Until, at, zone).Contains(month)).Select(g => g.PersonId));
        }
        var everyone = shop?.AfterLeaving == AfterLeaving.AllTillThen;
        var kept = await db.PaidMemberships.Where(m => m.StartedAt <= at && (everyone || m.JoinedUnder == AfterLeaving.AllTillThen))
            .GroupBy(m => m.PersonId).Select(g => new { g.Key, Until = g.Max(m => m.ActiveUntil) }).ToDictionaryAsync(g => g.Key, g => g.Until, cancellationToken);
        return new(have, kept);
    }
}
