using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Data;

/// <summary>Somebody's started download of a month as one archive, once for each version in it.</summary>
internal sealed record MonthFetch
{
    // Named, not in order: so EF Core can go on asking about them within the question.
    public required string DownloadId { get; init; }
    public required long? PersonId { get; init; }
    public required long ReleaseId { get; init; }
    public required DateTimeOffset StartedAt { get; init; }
    public required MayDownloadWhy Why { get; init; }
}

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
        select new MonthFetch { DownloadId = d.Id, PersonId = d.PersonId, ReleaseId = r.ReleaseId, StartedAt = d.StartedAt!.Value, Why = d.Why };

    /// <summary>Versions this person took so while all of the month was free.</summary>
    public static readonly CompiledQuestion<Func<ShelfDb, long, IAsyncEnumerable<long>>> TakenWhileFree = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id) =>
            from d in db.Downloads
            where d.PersonId == id && d.DropId != null && d.StartedAt != null && d.Why == MayDownloadWhy.Free
            join r in db.DropReleases on d.DropId equals (long?)r.DropId
            select r.ReleaseId));
}
