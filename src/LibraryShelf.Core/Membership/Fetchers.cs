using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Someone the shelf can write to who fetched a version: started a download of it, signed in.</summary>
internal sealed record Fetcher(long PersonId, string Email);

/// <summary>Who fetched a version, as a whole or as an update to it. The maker's own downloads are none of these.</summary>
internal static class Fetchers
{
    public static IQueryable<Fetcher> Of(ShelfDb db, long releaseId) =>
        from p in db.Users
        where !p.IsMaker && p.Email != null && db.Downloads.Any(d => d.PersonId == p.Id && d.ReleaseId == releaseId && d.StartedAt != null)
        orderby p.Id
        select new Fetcher(p.Id, p.Email!);

    public static Task<int> CountAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken) => db.Users.CountAsync(
        p => !p.IsMaker && p.Email != null && db.Downloads.Any(d => d.PersonId == p.Id && d.ReleaseId == releaseId && d.StartedAt != null),
        cancellationToken);
}
