using System.Globalization;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>
/// What the members' page reads of <see cref="ManyDownloads"/>' people besides who joined and left: two plans and who is on which, some thousand renewals that failed, of which three in
/// four were paid three days later, what plans came to in each month, and each person's first free download. The last is made up, from 120 days before they joined to 20 after, or on any day, and
/// not what the downloads come to: these would have it in the first weeks for nearly everybody.
/// </summary>
internal sealed class ManyMembers(ShelfDb db)
{
    private const long Day = 86_400_000;
    private const int Monthly = 900, Yearly = 9_000, OneFailedOf = 60;

    /// <summary>All or nothing, and once: a shelf that an earlier version of the benchmark made gets them too.</summary>
    public async Task MakeAsync()
    {
        if (await db.Plans.AnyAsync())
            return;
        await using var transaction = await db.Database.BeginTransactionAsync();
        await PlansAsync();
        await FailedAsync();
        await IncomesAsync();
        await FirstsAsync();
        await transaction.CommitAsync();
        db.ChangeTracker.Clear();
    }

    /// <summary>A quarter pay by the year.</summary>
    private async Task PlansAsync()
    {
        var first = DateTimeOffset.FromUnixTimeMilliseconds(ManyDownloads.Start);
        var (month, year) = (new Plan { Months = 1, Minor = Monthly, CreatedAt = first }, new Plan { Months = 12, Minor = Yearly, CreatedAt = first });
        db.Plans.AddRange(month, year);
        await db.SaveChangesAsync();
        await db.PaidMemberships.ExecuteUpdateAsync(s => s.SetProperty(m => m.PlanId, m => m.PersonId % 8 == 0 ? year.Id : month.Id));
    }

    private Task FailedAsync() => RunAsync($"""
        INSERT INTO "FailedRenewals" ("PaidMembershipId", "Since", "RecoveredAt")
        SELECT m."Id", p."OpensAt", CASE WHEN p."PersonId" / 2 % 4 <> 0 AND p."OpensAt" + 3 * {Day} <= {ManyDownloads.End} THEN p."OpensAt" + 3 * {Day} END
        FROM "PaidMonths" p JOIN "PaidMemberships" m ON m."PersonId" = p."PersonId"
        WHERE p."OpensAt" > m."StartedAt" AND (p."PersonId" * 31 + p."OpensAt" / {Day}) % {OneFailedOf} = 0
        """);

    /// <summary>As if all had paid by the month. A server that ran before there were plans has written that it is nothing.</summary>
    private async Task IncomesAsync()
    {
        await db.MonthIncomes.ExecuteDeleteAsync();
        var months = await db.PaidMonths.GroupBy(m => m.Month).Select(g => new { Month = g.Key, People = g.Count() }).ToListAsync();
        var at = DateTimeOffset.FromUnixTimeMilliseconds(ManyDownloads.End);
        db.MonthIncomes.AddRange(months.Select(m => new MonthIncome { Month = m.Month, Currency = "EUR", Minor = m.People * Monthly, Memberships = m.People, At = at }));
        await db.SaveChangesAsync();
    }

    private async Task FirstsAsync()
    {
        await db.PersonFirsts.ExecuteDeleteAsync();
        await RunAsync($"""
            WITH RECURSIVE n(id) AS (SELECT CAST(2 AS BIGINT) UNION ALL SELECT id + 1 FROM n WHERE id < {ManyDownloads.People + 1}),
            f(id, at) AS (SELECT n.id, COALESCE(min(m."StartedAt") + (20 - n.id / 2 % 140) * {Day}, {ManyDownloads.Start} + n.id * 13 % {ManyDownloads.Days - 1} * {Day})
                FROM n LEFT JOIN "PaidMemberships" m ON m."PersonId" = n.id GROUP BY n.id)
            INSERT INTO "PersonFirsts" ("PersonId", "FreeAt") SELECT id, CASE WHEN at < {ManyDownloads.Start} THEN {ManyDownloads.Start} ELSE at END FROM f
            """);
    }

    private Task RunAsync(FormattableString sql) => db.Database.ExecuteSqlRawAsync(sql.ToString(CultureInfo.InvariantCulture));
}
