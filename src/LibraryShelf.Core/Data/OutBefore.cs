using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Data;

/// <summary>
/// Whoever first had a library after a version's instant, but was worked out before its row said that it was out, has it down as not out then
/// (<see cref="PersonVersion.LatestThenId"/>): they are to be worked out anew. Mostly it is a moment, so they are few.
/// It stands here because who dates a version back is a step before the one that counts.
/// </summary>
internal static class OutBefore
{
    /// <summary>In the caller's transaction, written at once.</summary>
    /// <param name="db">Saved: versions are read as the database has them.</param>
    /// <param name="came">Versions that came out, as their rows say by now; others are left out.</param>
    /// <param name="cancellationToken">Ends it with nothing marked.</param>
    public static async Task MarkAsync(ShelfDb db, IQueryable<Release> came, CancellationToken cancellationToken)
    {
        var people = await (from r in came
                            where r.PublishedAt != null
                            join v in db.PersonVersions on r.LibraryId equals v.LibraryId
                            where v.FromReleaseId == 0 && v.Since >= r.PublishedAt && v.LatestThenId != r.Id
                                && !db.VersionMarks.Any(m => m.LibraryId == v.LibraryId && m.PersonId == v.PersonId)
                            select new { v.PersonId, v.LibraryId }).Distinct().ToListAsync(cancellationToken);
        db.VersionMarks.AddRange(people.Select(p => new VersionMark { PersonId = p.PersonId, LibraryId = p.LibraryId }));
        await db.SaveChangesAsync(cancellationToken);
    }
}
