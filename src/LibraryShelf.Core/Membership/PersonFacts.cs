using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
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

    /// <summary>Reads the person's facts at <paramref name="now"/>; a null, unknown or deleted person is a visitor.</summary>
    public static Task<PersonFacts> LoadAsync(ShelfDb db, long? personId, DateTimeOffset now, CancellationToken cancellationToken) =>
        LoadAsync(db, personId, null, now, cancellationToken);

    /// <param name="db">Where to read.</param>
    /// <param name="personId">Null: a visitor.</param>
    /// <param name="only">Asked about this version alone, with its library: what can't change the answer is not read. Null: about any.</param>
    /// <param name="now">The instant.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public static async Task<PersonFacts> LoadAsync(ShelfDb db, long? personId, Release? only, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (personId is not { } id || await PersonQuestions.Person.For(db)(db, id, cancellationToken) is not { } person)
            return Visitor;
        var grants = await PersonQuestions.Grants.For(db)(db, id).ToListAsync(cancellationToken);
        var paid = await PersonQuestions.Paid.For(db)(db, id, now).ToListAsync(cancellationToken);
        var months = await PersonQuestions.Months.For(db)(db, id, now).SetAsync(cancellationToken);
        foreach (var grant in grants)
            months.UnionWith(PaidMonths.OfGift(grant.From, grant.Until, now, ReadShop.ZoneOf(person.TimeZone ?? "")));
        var isActive = grants.Exists(g => g.IsActiveAt(now)) || paid.Exists(m => now < m.ActiveUntil);
        // Who is a member, or has one of its months, is never asked what they took while it was free.
        var isDecided = only is not null && (isActive || only.MonthsIn(only.Library).Any(months.Contains));
        return new(
            true, person.IsMaker, isActive,
            isDecided ? [] : await TakenWhileFreeAsync(db, id, cancellationToken),
            only is not null && only.State != ReleaseState.Early ? [] : await PersonQuestions.EarlyFor.For(db)(db, id).SetAsync(cancellationToken),
            months, KeptUntilOf(paid, person.AfterLeaving ?? AfterLeaving.PaidMonths));
    }

    private static async Task<HashSet<long>> TakenWhileFreeAsync(ShelfDb db, long id, CancellationToken cancellationToken)
    {
        var taken = await PersonQuestions.TakenWhileFree.For(db)(db, id).SetAsync(cancellationToken);
        taken.UnionWith(await MonthFetches.TakenWhileFree.For(db)(db, id).SetAsync(cancellationToken));
        return taken;
    }

    public MayDownloadWhy MayHave(Release release, Library library, DateTimeOffset now) => MayDownload.Decide(new(
        release.State, library.AudienceAt(now), IsSignedIn, IsMaker, IsActiveMember, TakenWhileFree.Contains(release.Id), EarlyFor.Contains(release.Id),
        HasPaidMonth: release.MonthsIn(library).Any(Months.Contains),
        KeptAfterLeaving: release.PublishedAt <= KeptUntil));

    private static DateTimeOffset? KeptUntilOf(List<PaidMembership> paid, AfterLeaving today) =>
        // Of one that was paid back whole nothing was kept.
        paid.FindAll(m => m.PaidThrough is not null && MembershipRule.Kinder(m.JoinedUnder, today) == AfterLeaving.AllTillThen).Max(m => (DateTimeOffset?)m.ActiveUntil);
}
