using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Data;

/// <summary>Somebody's started download of a month as one archive, once for each version in it.</summary>
internal sealed record MonthFetch(string DownloadId, long? PersonId, long ReleaseId, DateTimeOffset StartedAt, MayDownloadWhy Why);

/// <summary>
/// Which versions were fetched as part of a whole month. It is a join over the tables of two steps, of which the earlier ones that ask need not know the later: so
/// it stands with the tables. A download of one version is none of these.
/// </summary>
internal static class MonthFetches
{
    public static IQueryable<MonthFetch> Of(ShelfDb db) =>
        from d in db.Downloads
        where d.DropId != null && d.StartedAt != null
        join r in db.DropReleases on d.DropId equals (long?)r.DropId
        select new MonthFetch(d.Id, d.PersonId, r.ReleaseId, d.StartedAt!.Value, d.Why);

    /// <summary>Versions this person took so while all of the month was free.</summary>
    public static readonly CompiledQuestion<Func<ShelfDb, long, IAsyncEnumerable<long>>> TakenWhileFree = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id) =>
            from d in db.Downloads
            where d.PersonId == id && d.DropId != null && d.StartedAt != null && d.Why == MayDownloadWhy.Free
            join r in db.DropReleases on d.DropId equals (long?)r.DropId
            select r.ReleaseId));
}
