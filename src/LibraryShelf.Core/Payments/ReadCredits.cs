using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Payments;

/// <param name="Minor">By currency, in its smallest unit.</param>
public sealed record MonthCost(YearMonth Month, int People, IReadOnlyList<(string Currency, long Minor)> Sums);

public sealed record CreditLook(MonthCredit Credit, int People, int Done, IReadOnlyList<(string Currency, long Minor)> Sums)
{
    /// <summary>Mails about it are being written, or wait to go.</summary>
    public bool IsBeingTold { get; init; }
}

/// <param name="Months">Paid months not credited yet, newest first.</param>
public sealed record CreditsPage(IReadOnlyList<MonthCost> Months, IReadOnlyList<CreditLook> Credits);

/// <summary>The months people have paid for, with what crediting one would cost, and what was credited.</summary>
public sealed class ReadCredits(ShelfDb db, TimeProvider clock)
{
    /// <summary>The newest so many months.</summary>
    private const int Most = 12;

    public async Task<CreditsPage> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var months = await db.PaidMonths.Where(m => m.OpensAt <= now && !db.MonthCredits.Any(c => c.Month == m.Month))
            .Select(m => m.Month).Distinct().OrderByDescending(m => m).Take(Most).ToListAsync(cancellationToken);
        var costs = new List<MonthCost>();
        foreach (var month in months)
        {
            var people = await CreditedPeople.Of(db, month, now).Select(p => new { p.Currency, p.Minor }).ToListAsync(cancellationToken);
            costs.Add(new(month, people.Count, [.. people.GroupBy(p => p.Currency).Select(g => (g.Key, g.Sum(p => Math.Max(0, p.Minor))))]));
        }
        var credits = await db.MonthCredits.AsNoTracking().OrderByDescending(c => c.Month).ToListAsync(cancellationToken);
        var lines = (await db.MonthCreditLines.Where(l => l.Minor > 0).GroupBy(l => new { l.MonthCreditId, l.Currency })
            .Select(g => new { g.Key.MonthCreditId, g.Key.Currency, People = g.Count(), Done = g.Count(l => l.CreditedAt != null), Minor = g.Sum(l => l.Minor) })
            .ToListAsync(cancellationToken)).ToLookup(l => l.MonthCreditId);
        var waits = new HashSet<long>();
        foreach (var credit in credits)
        {
            var cause = $"credit:{credit.Id}:";
            if (credit.WrittenAt is null || await db.Outbox.AnyAsync(m => m.Cause.StartsWith(cause) && m.SentAt == null && m.GaveUpAt == null, cancellationToken))
                waits.Add(credit.Id);
        }
        return new(costs, [.. credits.Select(c => new CreditLook(
            c, lines[c.Id].Sum(l => l.People), lines[c.Id].Sum(l => l.Done), [.. lines[c.Id].Select(l => (l.Currency, l.Minor))]) { IsBeingTold = waits.Contains(c.Id) })]);
    }
}
