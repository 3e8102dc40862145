using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using Semver;

namespace LibraryShelf.Core.Payments;

/// <param name="Agreed">What the payer agreed to when joining; null: it began at the provider without this shelf, or that is not kept.</param>
/// <param name="Payments">Newest first.</param>
public sealed record MemberPays(PaidMembership Membership, MembershipStanding Standing, Plan? Plan, Joining? Agreed, IReadOnlyList<Payment> Payments);

/// <param name="PaymentId">The payment that pays for it; null: given.</param>
public sealed record MemberMonth(YearMonth Month, DateTimeOffset OpensAt, string? PaymentId, IReadOnlyList<string> Boxes);

/// <summary>One version, whether this person may download it, and why or why not.</summary>
/// <param name="Month">The one by which they have it, else the box's own; null: it has none.</param>
/// <param name="IsMonthGiven">They have the month by a membership given, not by a payment.</param>
public sealed record MemberVersion(string Slug, string Title, string Number, ReleaseState State, MayDownloadWhy Why, YearMonth? Month, bool IsMonthGiven);

/// <param name="Import">The list they came with.</param>
public sealed record MemberOrigin(MemberImport Import, ImportedMember Line);

/// <summary>All that the maker's page says of one person.</summary>
/// <param name="Grants">Newest first.</param>
/// <param name="Months">Newest first.</param>
/// <param name="Versions">By box, newest number first.</param>
/// <param name="Mails">The last ones, newest first.</param>
public sealed record MemberView(
    MemberLine Line, IReadOnlyList<MembershipGrant> Grants, IReadOnlyList<MemberPays> Paid, IReadOnlyList<MemberMonth> Months,
    IReadOnlyList<MemberVersion> Versions, IReadOnlyList<OutboxMail> Mails, IReadOnlyList<MemberOrigin> Origins);

public abstract record MemberOutcome
{
    private MemberOutcome() { }

    public sealed record Found(MemberView Member) : MemberOutcome;

    /// <summary>This address was joined with another; everything stands there.</summary>
    public sealed record MergedInto(long PersonId) : MemberOutcome;

    /// <summary>Nobody, the maker, or somebody who was deleted.</summary>
    public sealed record NotThere : MemberOutcome;
}

/// <summary>One person with state, payments, months and rights, by the same rule that guards each download.</summary>
public sealed class ReadMember(ShelfDb db, TimeProvider clock)
{
    public const int MostMails = 20;

    /// <param name="personId">Who.</param>
    /// <param name="box">Part of a box's title: its versions alone; empty: all.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<MemberOutcome> RunAsync(long personId, string? box, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        if (await MemberRow.Of(db, now).SingleOrDefaultAsync(r => r.Id == personId, cancellationToken) is not { } row)
            return await db.Users.Where(p => p.Id == personId).Select(p => p.MergedIntoId).SingleOrDefaultAsync(cancellationToken) is { } other
                ? new MemberOutcome.MergedInto(other) : new MemberOutcome.NotThere();
        var line = (await MemberLine.ReadAsync(db, [row], now, cancellationToken))[0];
        var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == personId)
            .OrderByDescending(g => g.From).ThenByDescending(g => g.Id).ToListAsync(cancellationToken);
        var libraries = await db.Libraries.AsNoTracking().AsSplitQuery().Include(l => l.Audiences).Include(l => l.Releases)
            .OrderBy(l => l.Title).ToListAsync(cancellationToken);
        var months = await MonthsAsync(personId, grants, now, cancellationToken);
        var mails = await db.Outbox.AsNoTracking().Where(m => m.To == row.Email || m.PersonId == row.Id).OrderByDescending(m => m.Id).Take(MostMails).ToListAsync(cancellationToken);
        var origins = await (from m in db.ImportedMembers where m.PersonId == personId join i in db.MemberImports on m.ImportId equals i.Id
            orderby i.Id descending select new MemberOrigin(i, m)).AsNoTracking().ToListAsync(cancellationToken);
        var rights = await PersonFacts.LoadAsync(db, personId, now, cancellationToken);
        return new MemberOutcome.Found(new(
            line, grants, await PaidAsync(personId, now, cancellationToken), months,
            [.. libraries.Where(l => l.Title.Contains(box?.Trim() ?? "", StringComparison.OrdinalIgnoreCase)).SelectMany(l => Versions(l, rights, months, now))],
            mails, origins));
    }

    private async Task<IReadOnlyList<MemberPays>> PaidAsync(long personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var paid = await db.PaidMemberships.AsNoTracking().Where(m => m.PersonId == personId).OrderByDescending(m => m.StartedAt).ToListAsync(cancellationToken);
        var plans = await db.Plans.AsNoTracking().ToDictionaryAsync(p => p.Id, cancellationToken);
        var payments = (await db.Payments.AsNoTracking().Where(p => p.PersonId == personId).OrderByDescending(p => p.PaidAt).ThenByDescending(p => p.Id)
            .ToListAsync(cancellationToken)).ToLookup(p => p.PaidMembershipId);
        // Which joining led to which membership is not kept: it is the last one agreed to before the membership began, or within the hour that clocks may differ.
        var joinings = await db.Joinings.AsNoTracking().Where(j => j.PersonId == personId && j.PaidAt != null).OrderBy(j => j.AgreedAt).ToListAsync(cancellationToken);
        return [.. paid.Select(m => new MemberPays(
            m, MembershipRule.StandingAt(m, now), m.PlanId is { } plan ? plans.GetValueOrDefault(plan) : null,
            joinings.FindLast(j => j.AgreedAt < m.StartedAt.AddHours(1)), [.. payments[m.Id]]))];
    }

    private async Task<IReadOnlyList<MemberMonth>> MonthsAsync(
        long personId, List<MembershipGrant> grants, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var zone = ReadShop.ZoneOf(await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? "");
        var boxes = await MonthBoxes.LoadAsync(db, cancellationToken);
        var paid = await db.PaidMonths.AsNoTracking().Where(m => m.PersonId == personId).ToListAsync(cancellationToken);
        var given = grants.SelectMany(g => PaidMonths.OfGift(g.From, g.Until, now, zone).Select(m => (Month: m, g.From)))
            .GroupBy(m => m.Month).Select(m => (m.Key, From: m.Min(g => g.From))).Where(m => paid.TrueForAll(p => p.Month != m.Key));
        return [.. paid.Select(m => new MemberMonth(m.Month, m.OpensAt, m.PaymentId, [.. boxes[m.Month]]))
            .Concat(given.Select(m => new MemberMonth(m.Key, Later(m.From, zone.AtStartOfDay(m.Key.OnDayOfMonth(1)).ToDateTimeOffset()), null, [.. boxes[m.Key]])))
            .OrderByDescending(m => m.Month)];
    }

    private static DateTimeOffset Later(DateTimeOffset one, DateTimeOffset other) => one > other ? one : other;

    /// <summary>What was sealed: a draft is on no shelf, and nobody asks about it.</summary>
    private static IEnumerable<MemberVersion> Versions(Library library, PersonFacts rights, IReadOnlyList<MemberMonth> months, DateTimeOffset now)
    {
        return library.Releases
            .Where(r => r.State is not (ReleaseState.Draft or ReleaseState.Checked))
            .OrderByDescending(r => SemVersion.Parse(r.Number, SemVersionStyles.Strict), SemVersion.PrecedenceComparer)
            .Select(r =>
            {
                // The one they have by a payment is named first. A month paid for may not be open yet while the same month was given.
                var bought = r.MonthsIn(library).Where(rights.Months.Contains).OrderBy(IsGiven).Cast<YearMonth?>().FirstOrDefault() ?? library.Month;
                return new MemberVersion(library.Slug, library.Title, r.Number, r.State, rights.MayHave(r, library, now), bought, bought is { } month && IsGiven(month));
            });

        bool IsGiven(YearMonth month) => !months.Any(m => m.Month == month && m.PaymentId is not null && m.OpensAt <= now);
    }
}
