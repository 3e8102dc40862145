using System.Linq.Expressions;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Someone the shelf can write to who fetched a version: started a download of it, signed in.</summary>
internal sealed record Fetcher(long PersonId, string Email);

/// <summary>Who fetched a version, as a whole, as an update to it, or with the whole month. The maker's own downloads are none of these.</summary>
internal static class Fetchers
{
    /// <summary>By their ids.</summary>
    public static IQueryable<Person> Of(ShelfDb db, long releaseId) =>
        from p in db.Users
        where !p.IsMaker && p.Email != null && (db.Downloads.Any(d => d.PersonId == p.Id && d.ReleaseId == releaseId && d.StartedAt != null)
            || MonthFetches.Of(db).Any(f => f.PersonId == p.Id && f.ReleaseId == releaseId))
        orderby p.Id
        select p;

    /// <summary>
    /// Whether somebody fetched any of these versions, also where they can't be written to. Asked of each person by itself, who has some hundred downloads: a
    /// version has hundred thousands, and who fetched it is asked anew for every few people who are told.
    /// </summary>
    public static Expression<Func<Person, bool>> HasAnyOf(ShelfDb db, IQueryable<long> releases) =>
        p => db.Downloads.Any(d => d.PersonId == p.Id && d.StartedAt != null && releases.Contains(d.ReleaseId))
            || MonthFetches.Of(db).Any(f => f.PersonId == p.Id && releases.Contains(f.ReleaseId));

    public static Expression<Func<Person, bool>> HasNoneOf(ShelfDb db, IQueryable<long> releases) =>
        p => !db.Downloads.Any(d => d.PersonId == p.Id && d.StartedAt != null && releases.Contains(d.ReleaseId))
            && !MonthFetches.Of(db).Any(f => f.PersonId == p.Id && releases.Contains(f.ReleaseId));

    /// <summary>The highest number that each of these people fetched of a library; who fetched none is not among them.</summary>
    /// <param name="db">Where to read.</param>
    /// <param name="libraryId">Which.</param>
    /// <param name="people">At most a few hundred: each is a parameter of the question.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static async Task<IReadOnlyDictionary<long, string>> HighestAsync(ShelfDb db, long libraryId, IReadOnlyCollection<long> people, CancellationToken cancellationToken)
    {
        var rows = await db.Downloads.Where(d => d.PersonId != null && people.Contains(d.PersonId.Value) && d.LibraryId == libraryId && d.StartedAt != null)
            .Join(db.Releases, d => d.ReleaseId, r => r.Id, (d, r) => new { PersonId = d.PersonId!.Value, r.Number }).Distinct().ToListAsync(cancellationToken);
        rows.AddRange(await MonthFetches.Of(db).Where(f => f.PersonId != null && people.Contains(f.PersonId.Value))
            .Join(db.Releases.Where(r => r.LibraryId == libraryId), f => f.ReleaseId, r => r.Id, (f, r) => new { PersonId = f.PersonId!.Value, r.Number })
            .Distinct().ToListAsync(cancellationToken));
        return rows.GroupBy(f => f.PersonId, f => f.Number).ToDictionary(g => g.Key, g => g.Max(ReleaseNumbers.ByPrecedence)!);
    }

    /// <summary>The first so many of them.</summary>
    public static Task<List<Fetcher>> ReadAsync(IQueryable<Person> people, int most, CancellationToken cancellationToken) =>
        people.Take(most).Select(p => new Fetcher(p.Id, p.Email!)).ToListAsync(cancellationToken);
}
