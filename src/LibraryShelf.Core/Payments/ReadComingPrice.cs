using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <param name="From">Their first renewal on or after it costs this plan's price.</param>
public sealed record ComingPrice(Plan Plan, DateTimeOffset From);

/// <summary>The price that was announced to a member and does not hold yet; null: none.</summary>
public sealed class ReadComingPrice(ShelfDb db)
{
    public Task<ComingPrice?> RunAsync(long personId, CancellationToken cancellationToken) =>
        (from l in db.PriceChangeLines.AsNoTracking()
         join m in db.PaidMemberships on l.PaidMembershipId equals m.Id
         join c in db.PriceChanges on l.PriceChangeId equals c.Id
         join p in db.Plans on c.ToPlanId equals p.Id
         where m.PersonId == personId && m.EndedAt == null && l.AppliedAt == null && l.SkippedAt == null && c.CalledOffAt == null
         orderby c.Id descending
         select new ComingPrice(p, c.From)).FirstOrDefaultAsync(cancellationToken);
}
