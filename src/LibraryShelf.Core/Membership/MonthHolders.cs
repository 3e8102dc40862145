using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Who, of these people, has a library by a month they paid for or were given, and who keeps what was there when they left.</summary>
internal sealed class MonthHolders(IReadOnlySet<long> haveMonth, Dictionary<long, DateTimeOffset> keptUntil)
{
    public IReadOnlySet<long> HaveMonth => haveMonth;

    public DateTimeOffset? KeptUntil(long personId) => keptUntil.TryGetValue(personId, out var until) ? until : null;

    /// <param name="db">Where to read.</param>
    /// <param name="library">Which.</param>
    /// <param name="people">At most a few hundred: each is a parameter of the questions.</param>
    /// <param name="at">Now.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static async Task<MonthHolders> LoadAsync(
        ShelfDb db, Library library, IReadOnlyCollection<long> people, DateTimeOffset at, CancellationToken cancellationToken)
    {
        var shop = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => new { s.TimeZone, s.AfterLeaving }).SingleOrDefaultAsync(cancellationToken);
        var have = new HashSet<long>();
        if (library.Month is { } month)
        {
            have.UnionWith(await db.PaidMonths.Where(m => m.Month == month && m.OpensAt <= at && people.Contains(m.PersonId)).Select(m => m.PersonId).ToListAsync(cancellationToken));
            var zone = ReadShop.ZoneOf(shop?.TimeZone ?? "");
            var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.From <= at && people.Contains(g.PersonId)).ToListAsync(cancellationToken);
            have.UnionWith(grants.Where(g => PaidMonths.OfGift(g.From, g.Until, at, zone).Contains(month)).Select(g => g.PersonId));
        }
        var everyone = shop?.AfterLeaving == AfterLeaving.AllTillThen;
        var kept = await db.PaidMemberships.Where(m => m.StartedAt <= at && m.PaidThrough != null && people.Contains(m.PersonId) && (everyone || m.JoinedUnder == AfterLeaving.AllTillThen))
            .GroupBy(m => m.PersonId).Select(g => new { g.Key, Until = g.Max(m => m.ActiveUntil) }).ToDictionaryAsync(g => g.Key, g => g.Until, cancellationToken);
        return new(have, kept);
    }
}
