using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Membership;

/// <summary>What the join page says.</summary>
/// <param name="Plans">Offered today, the monthly ones first, then the cheaper.</param>
/// <param name="TiedBoxes">How many boxes open for a member.</param>
/// <param name="TiedBytes">Their newest versions together, whole, bytes.</param>
/// <param name="MonthsBoxes">The boxes of <paramref name="Month"/>, which the first payment pays for.</param>
/// <param name="ConsentWords">Beside the box to tick; empty: none is shown.</param>
public sealed record JoinPage(
    IReadOnlyList<Plan> Plans, int TiedBoxes, long TiedBytes, int FreeBoxes, YearMonth Month, IReadOnlyList<string> MonthsBoxes, string ConsentWords, string ButtonWords, AfterLeaving AfterLeaving);

public sealed class ReadJoin(ShelfDb db, TimeProvider clock)
{
    public async Task<JoinPage> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var month = now.ToInstant().InZone(ReadShop.ZoneOf(shop?.TimeZone ?? "")).Date.ToYearMonth();
        var plans = await db.Plans.AsNoTracking().Where(p => p.ClosedAt == null).OrderBy(p => p.Months).ThenBy(p => p.Minor).ToListAsync(cancellationToken);
        var libraries = await db.Libraries.AsNoTracking().AsSplitQuery().Include(l => l.Audiences)
            .Include(l => l.Releases.Where(r => r.State == ReleaseState.Published)).OrderBy(l => l.Title).ToListAsync(cancellationToken);
        var shelved = libraries.FindAll(l => l.Releases.Count > 0);
        var tied = shelved.FindAll(l => l.AudienceAt(now) == Audience.Members);
        var newest = tied.ConvertAll(l => l.Releases.OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence).First().Id);
        var bytes = await db.Archives.Where(a => a.Kind == ArchiveKind.Full && newest.Contains(a.ReleaseId)).SumAsync(a => a.Length, cancellationToken);
        return new(
            plans, tied.Count, bytes, shelved.Count(l => l.AudienceAt(now) == Audience.Free), month,
            [.. shelved.Where(l => l.Month == month).Select(l => l.Title)], shop?.ConsentWords ?? "", shop?.ButtonWords ?? "", shop?.AfterLeaving ?? AfterLeaving.PaidMonths);
    }
}
