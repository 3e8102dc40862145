using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>What the rule of rights needs to know of a person, whatever the release.</summary>
/// <param name="Months">Paid for, or given; open by now.</param>
/// <param name="KeptUntil">Under the kinder rule they keep what was published for members by then; null: they don't.</param>
internal sealed record PersonFacts(
    bool IsSignedIn, bool IsMaker, bool IsActiveMember, IReadOnlySet<long> TakenWhileFree, IReadOnlySet<long> EarlyFor,
    IReadOnlySet<YearMonth> Months, DateTimeOffset? KeptUntil)
{
    private static readonly PersonFacts Visitor = new(false, false, false, new HashSet<long>(), new HashSet<long>(), new HashSet<YearMonth>(), null);

    /// <summary>Reads the person's facts at <paramref name="now"/>; a null or unknown person is a visitor.</summary>
    public static async Task<PersonFacts> LoadAsync(ShelfDb db, long? personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (personId is not { } id) return Visitor;
        var isMaker = await db.Users.Where(p => p.Id == id).Select(p => (bool?)p.IsMaker).FirstOrDefaultAsync(cancellationToken);
        if (isMaker is null) return Visitor;
        var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == id).ToListAsync(cancellationToken);
        var paid = await db.PaidMemberships.AsNoTracking().Where(m => m.PersonId == id && m.StartedAt <= now).ToListAsync(cancellationToken);
        // Started, not merely pressed: a link that was never used took nothing.
        var taken = await db.Downloads
            .Where(d => d.PersonId == id && d.StartedAt != null && d.Why == MayDownloadWhy.Free)
            .Select(d => d.ReleaseId).Distinct().ToListAsync(cancellationToken);
        var early = await db.EarlyGuests.Where(g => g.PersonId == id).Select(g => g.ReleaseId).ToListAsync(cancellationToken);
        var shop = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => new { s.TimeZone, s.AfterLeaving }).SingleOrDefaultAsync(cancellationToken);
        var months = (await db.PaidMonths.Where(m => m.PersonId == id && m.OpensAt <= now).Select(m => m.Month).ToListAsync(cancellationToken)).ToHashSet();
        foreach (var grant in grants)
            months.UnionWith(PaidMonths.OfGift(grant.From, grant.Until, now, ReadShop.ZoneOf(shop?.TimeZone ?? "")));
        return new(
            true, isMaker.Value, grants.Exists(g => g.IsActiveAt(now)) || paid.Exists(m => now < m.ActiveUntil), taken.ToHashSet(), early.ToHashSet(),
            months, KeptUntilOf(paid, shop?.AfterLeaving ?? AfterLeaving.PaidMonths));
    }

    public MayDownloadWhy MayHave(Release release, Library library, DateTimeOffset now) => MayDownload.Decide(new(
        release.State, library.AudienceAt(now), IsSignedIn, IsMaker, IsActiveMember, TakenWhileFree.Contains(release.Id), EarlyFor.Contains(release.Id),
        HasPaidMonth: library.Month is { } month && Months.Contains(month),
        KeptAfterLeaving: release.PublishedAt <= KeptUntil));

    private static DateTimeOffset? KeptUntilOf(List<PaidMembership> paid, AfterLeaving today) =>
        paid.FindAll(m => MembershipRule.Kinder(m.JoinedUnder, today) == AfterLeaving.AllTillThen).Max(m => (DateTimeOffset?)m.ActiveUntil);
}
