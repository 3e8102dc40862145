using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Payments;

public enum LookOutcome
{
    /// <summary>What the provider says stands here now, in one transaction with what follows from it.</summary>
    Kept,
    /// <summary>Something asked for later stands here already; nothing was written.</summary>
    Older,
    /// <summary>Nothing was ever paid for it; nothing was written.</summary>
    NeverPaid,
    /// <summary>The provider has none of that name; nothing was written.</summary>
    NotThere,
    /// <summary>
    /// It has nothing to do with this shelf, or began without it and has no address we could give it to, or is of somebody deleted and over for years;
    /// nothing was written.
    /// </summary>
    NobodysOurs,
}

/// <summary>
/// Reads one membership from the payment provider, whole, and works out everything of ours from it: how it stands, its payments, the months of the
/// person. Doing it twice changes nothing; messages lost, doubled or out of order are of no account once it was done.
/// </summary>
/// <exception cref="PaymentsUnreachableException">The provider could not be asked; nothing was written.</exception>
public sealed class LookAgain(ShelfDb db, IPayments payments, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    private static readonly TimeSpan ClocksDiffer = TimeSpan.FromHours(1);

    /// <param name="membershipId">The provider's name for it.</param>
    /// <param name="shelfAddress">For the mails, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public async Task<LookOutcome> RunAsync(string membershipId, string? shelfAddress, CancellationToken cancellationToken)
    {
        var asked = DateTimeOffset.FromUnixTimeMilliseconds(clock.GetUtcNow().ToUnixTimeMilliseconds());
        if (await payments.ReadMembershipAsync(membershipId, cancellationToken) is not { } told)
            return LookOutcome.NotThere;
        db.IsMoney = true;
        var outcome = await FreshEyes.LookAsync(db, () => KeepAsync(told, asked, shelfAddress, cancellationToken), () => LookOutcome.Older);
        if (outcome == LookOutcome.Kept && told.EndedAt is null)
            await SetAddressRightAsync(told, cancellationToken);
        return outcome;
    }

    /// <summary>
    /// The provider was away when an address changed (<see cref="TellNewAddress"/>), or the maker has joined two places. Tried once; what it refuses is tried
    /// again with the next look.
    /// </summary>
    private async Task SetAddressRightAsync(ProviderMembership told, CancellationToken cancellationToken)
    {
        var email = await (
            from m in db.PaidMemberships
            where m.ProviderId == told.Id
            join p in db.Users on m.PersonId equals p.Id
            where p.EmailConfirmed
            select p.Email).SingleOrDefaultAsync(cancellationToken);
        if (email is null || string.Equals(email, told.Email, StringComparison.OrdinalIgnoreCase))
            return;
        try
        {
            await payments.ChangeAddressAsync(told.CustomerId, email, cancellationToken);
        }
        catch (PaymentsUnreachableException)
        {
            // The membership stands as told, and that is what the look was for.
        }
    }

    private async Task<LookOutcome> KeepAsync(ProviderMembership told, DateTimeOffset asked, string? shelfAddress, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var row = await db.PaidMemberships.SingleOrDefaultAsync(m => m.ProviderId == told.Id, cancellationToken);
        if (row?.AskedAt > asked)
            return LookOutcome.Older;
        if (row is null && told.Payments.Count == 0)
            return LookOutcome.NeverPaid;
        if (row is null && !told.IsOurs)
            return LookOutcome.NobodysOurs;
        told = await WithSlippedMonthsAsync(told, cancellationToken);
        var shop = await db.Shops.SingleOrDefaultAsync(cancellationToken);
        var joining = await JoiningAsync(told, cancellationToken);
        if (row is null && joining is null && IsOver(told, asked))
            return LookOutcome.NobodysOurs;
        var gone = row is null ? await DeletedPayers.FindAsync(db, told, cancellationToken) : null;
        var person = row is not null ? null
            : gone is not null ? await DeletedPayers.RowAsync(db, gone, told, joining, cancellationToken)
            : await WhoseAsync(told, joining, asked, cancellationToken);
        if (person is not null)
            db.PaidMemberships.Add(row = New(told, person, joining, shop));
        if (row is null)
            return LookOutcome.NobodysOurs;
        if (joining is not null)
            joining.PaidAt ??= asked;
        var before = new MembershipBefore(row.Id == 0, row.LeavesAt is not null || row.EndedAt is not null);
        await FillAsync(row, told, asked, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await KeepFailedRenewals.WriteAsync(db, row, told, cancellationToken);
        var due = await WritePaymentsAsync(row, told, cancellationToken);
        await KeepPaidMonths.WriteAsync(db, row.PersonId, due, ReadShop.ZoneOf(shop?.TimeZone ?? ""), cancellationToken);
        await new PaymentMails(db, shop, shelfAddress, asked).WriteAsync(row, before, told, joining, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return LookOutcome.Kept;
    }

    /// <summary>What was paid back because a month slipped is not what takes a month away.</summary>
    private async Task<ProviderMembership> WithSlippedMonthsAsync(ProviderMembership told, CancellationToken cancellationToken)
    {
        var back = (await db.MonthCreditLines.Where(l => l.IsPaidBack && db.PaidMemberships.Any(m => m.Id == l.PaidMembershipId && m.ProviderId == told.Id))
            .Select(l => new { l.PaymentId, Minor = l.BackMinor }).ToListAsync(cancellationToken)).ToLookup(l => l.PaymentId, l => l.Minor, StringComparer.Ordinal);
        return back.Count == 0 ? told : told with { Payments = [.. told.Payments.Select(p => p with { BackForSlippedMonth = Math.Min(p.RefundedMinor, back[p.Id].Sum()) })] };
    }

    /// <summary>
    /// The joining that led to it. One agreed to after it began is another's: its number was given anew, after a backup was restored. An hour is
    /// left for clocks that differ.
    /// </summary>
    private async Task<Joining?> JoiningAsync(ProviderMembership told, CancellationToken cancellationToken) =>
        told.JoiningId is { } id && await db.Joinings.SingleOrDefaultAsync(j => j.Id == id, cancellationToken) is { } joining
            && joining.AgreedAt < told.StartedAt + ClocksDiffer ? joining : null;

    /// <summary>The one who pressed Join; for one that began elsewhere, whoever has the provider's address. Null: no address.</summary>
    private async Task<Person?> WhoseAsync(ProviderMembership told, Joining? joining, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (joining?.PersonId is { } known && await People.FindAsync(db, known, cancellationToken) is { } joined)
            return joined;
        // Of somebody deleted the joining has no address any more: then it is nobody's.
        if (EmailAddress.Tidy(joining?.Email ?? told.Email) is not { } email)
            return null;
        var normalized = EmailAddress.Normalize(email);
        if (joining is not null)
            joining.IsNewPerson = !await db.Users.AnyAsync(p => p.NormalizedEmail == normalized, cancellationToken);
        var person = await People.FindOrAddAsync(db, email, now, cancellationToken);
        if (joining is not null)
            joining.PersonId = person.Id;
        return person;
    }

    /// <summary>Ended for so long that its payments would not be kept: somebody was deleted, and does not come back by the provider's memory.</summary>
    private bool IsOver(ProviderMembership told, DateTimeOffset now)
    {
        var kept = KeptPayments.KeptSince(now, settings.Value.Privacy.KeepPaymentsYears);
        return told.EndedAt is not null && told.Payments.All(p => p.PaidAt < kept);
    }

    private static PaidMembership New(ProviderMembership told, Person person, Joining? joining, Shop? shop) => new()
    {
        ProviderId = told.Id, PersonId = person.Id, StartedAt = told.StartedAt,
        JoinedUnder = joining?.AfterLeaving ?? shop?.AfterLeaving ?? AfterLeaving.PaidMonths,
    };

    private async Task FillAsync(PaidMembership row, ProviderMembership told, DateTimeOffset asked, CancellationToken cancellationToken)
    {
        row.CustomerId = told.CustomerId;
        // Without a price no plan is meant: those the provider does not know yet have none either.
        if (told.PriceId is { } price)
            row.PlanId = await db.Plans.Where(p => p.ProviderId == price).Select(p => (long?)p.Id).SingleOrDefaultAsync(cancellationToken) ?? row.PlanId;
        row.StartedAt = told.StartedAt;
        row.PaidThrough = told.Payments.Where(p => p.TakenBackAt is null).Max(p => (DateTimeOffset?)p.PeriodEnd);
        (row.LeavesAt, row.EndedAt, row.IsPaused) = (told.LeavesAt, told.EndedAt, told.IsPaused);
        row.IsRefused = told.UnpaidSince is not null;
        row.ActiveUntil = MembershipRule.ActiveUntil(row, settings.Value.Membership.GraceDays);
        row.AskedAt = asked;
    }

    /// <returns>All payments of the person, of whichever membership.</returns>
    private async Task<IReadOnlyList<PaymentFact>> WritePaymentsAsync(PaidMembership row, ProviderMembership told, CancellationToken cancellationToken)
    {
        var kept = await db.Payments.Where(p => p.PersonId == row.PersonId).ToDictionaryAsync(p => p.Id, StringComparer.Ordinal, cancellationToken);
        foreach (var payment in told.Payments)
        {
            if (!kept.TryGetValue(payment.Id, out var one))
            {
                kept[payment.Id] = one = new Payment { Id = payment.Id };
                db.Payments.Add(one);
            }
            (one.PaidMembershipId, one.PersonId) = (row.Id, row.PersonId);
            (one.Minor, one.PriceMinor, one.Currency, one.Months) = (payment.Minor, payment.PriceMinor, payment.Currency, payment.Months);
            (one.PeriodStart, one.PeriodEnd, one.PaidAt) = (payment.PeriodStart, payment.PeriodEnd, payment.PaidAt);
            (one.RefundedMinor, one.TakenBackAt, one.IsDisputeLost) = (payment.RefundedMinor, payment.TakenBackAt, payment.DisputeLostAt is not null);
        }
        await db.SaveChangesAsync(cancellationToken);
        return [.. kept.Values.Select(p => p.Fact())];
    }
}
