using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime.Text;

namespace LibraryShelf.Core.Persons;

/// <summary>What somebody agreed to, paid, and has from it. Amounts are in the currency's smallest unit, with its ISO 4217 code.</summary>
internal sealed class MyMoneyTables(ShelfDb db, PersonRows rows)
{
    public async Task<MyTable> JoiningsAsync(CancellationToken cancellationToken) => new(
        "joinings", T("What you agreed to"), T("The proof of what was agreed when you pressed Join, in the words you saw."),
        ["address", "agreedAt", "consentWords", "buttonWords", "terms", "paidAt"],
        [.. (await rows.Joinings(db).AsNoTracking().OrderBy(j => j.Id).ToListAsync(cancellationToken))
            .Select(j => new object?[] { j.Email, j.AgreedAt, j.ConsentWords, j.ButtonWords, j.TermsVersion, j.PaidAt })]);

    public async Task<MyTable> MembershipsAsync(CancellationToken cancellationToken) => new(
        "paid-memberships", T("Paid memberships"), T("How each stands, as the payment provider told it, under the names it has there."),
        ["providerName", "customer", "planMinor", "planCurrency", "planMonths", "startedAt", "paidThrough", "leavesAt", "endedAt", "isPaused", "activeUntil", "joinedUnder"],
        [.. (await (from m in db.PaidMemberships
                    join p in db.Plans on m.PlanId equals (long?)p.Id into plans
                    from p in plans.DefaultIfEmpty()
                    where m.PersonId == rows.Id
                    orderby m.Id
                    select new { Membership = m, Plan = p }).AsNoTracking().ToListAsync(cancellationToken))
            .Select(r => (m: r.Membership, p: r.Plan))
            .Select(r => new object?[]
            {
                r.m.ProviderId, r.m.CustomerId, r.p?.Minor, r.p?.Currency, r.p?.Months, r.m.StartedAt, r.m.PaidThrough, r.m.LeavesAt, r.m.EndedAt,
                r.m.IsPaused, r.m.ActiveUntil, r.m.JoinedUnder.ToString(),
            })]);

    public async Task<MyTable> PaymentsAsync(CancellationToken cancellationToken) => new(
        "payments", T("Payments"), T("Which months are yours comes of them; and tax law asks the maker to keep them."),
        ["invoice", "minor", "currency", "months", "periodStart", "periodEnd", "paidAt", "refundedMinor", "takenBackAt", "isDisputeLost"],
        [.. (await db.Payments.AsNoTracking().Where(p => p.PersonId == rows.Id).OrderBy(p => p.PaidAt).ThenBy(p => p.Id).ToListAsync(cancellationToken))
            .Select(p => new object?[]
            {
                p.Id, p.Minor, p.Currency, p.Months, p.PeriodStart, p.PeriodEnd, p.PaidAt, p.RefundedMinor, p.TakenBackAt, p.IsDisputeLost,
            })]);

    public async Task<MyTable> FailedRenewalsAsync(CancellationToken cancellationToken) => new(
        "failed-renewals", T("Renewals that failed"), T("So that the maker can count how many are paid after all."),
        ["membership", "failedAt", "paidAfterAllAt"],
        [.. (await (from r in db.FailedRenewals
                    join m in db.PaidMemberships on r.PaidMembershipId equals m.Id
                    where m.PersonId == rows.Id
                    orderby r.Since
                    select new { m.ProviderId, r.Since, r.RecoveredAt }).ToListAsync(cancellationToken))
            .Select(r => new object?[] { r.ProviderId, r.Since, r.RecoveredAt })]);

    public async Task<MyTable> MonthsAsync(CancellationToken cancellationToken)
    {
        var months = await db.PaidMonths.AsNoTracking().Where(m => m.PersonId == rows.Id).OrderBy(m => m.Month).ToListAsync(cancellationToken);
        var boxes = await MonthBoxes.LoadAsync(db, cancellationToken);
        return new("months", T("Months you paid for"), T("Their boxes are yours for good."),
            ["month", "opensAt", "invoice", "boxes"],
            [.. months.Select(m => new object?[] { YearMonthPattern.Iso.Format(m.Month), m.OpensAt, m.PaymentId, string.Join("; ", boxes[m.Month]) })]);
    }

    public async Task<MyTable> CreditsAsync(CancellationToken cancellationToken) => new(
        "credits", T("Credits for months that slipped"), T("So that each is credited once."),
        ["month", "minor", "currency", "invoice", "decidedAt", "creditedAt", "isPaidBack", "reason"],
        [.. (await (from l in db.MonthCreditLines
                    join c in db.MonthCredits on l.MonthCreditId equals c.Id
                    where db.PaidMemberships.Any(m => m.Id == l.PaidMembershipId && m.PersonId == rows.Id)
                    orderby c.Id
                    select new { c.Month, l.Minor, l.Currency, l.PaymentId, c.DecidedAt, l.CreditedAt, l.IsPaidBack, c.Reason }).ToListAsync(cancellationToken))
            .Select(c => new object?[] { YearMonthPattern.Iso.Format(c.Month), c.Minor, c.Currency, c.PaymentId, c.DecidedAt, c.CreditedAt, c.IsPaidBack, c.Reason })]);

    public async Task<MyTable> PricesAsync(CancellationToken cancellationToken) => new(
        "price-changes", T("Changes of price you were told of"), T("So that nobody pays more without having been told."),
        ["membership", "from", "toldAt", "appliedAt", "skippedAt", "reason"],
        [.. (await (from l in db.PriceChangeLines
                    join c in db.PriceChanges on l.PriceChangeId equals c.Id
                    join m in db.PaidMemberships on l.PaidMembershipId equals m.Id
                    where m.PersonId == rows.Id
                    orderby c.Id
                    select new { m.ProviderId, c.From, l.ToldAt, l.AppliedAt, l.SkippedAt, c.Reason }).ToListAsync(cancellationToken))
            .Select(c => new object?[] { c.ProviderId, c.From, c.ToldAt, c.AppliedAt, c.SkippedAt, c.Reason })]);
}
