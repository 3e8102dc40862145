using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>For who moves or takes away downloads of single people: which versions those have, worked out at once instead of with the next count.</summary>
internal static class OwnVersions
{
    /// <summary>In the caller's transaction, written at once.</summary>
    public static async Task WriteAsync(ShelfDb db, IReadOnlyCollection<long> people, CancellationToken cancellationToken)
    {
        await new PersonVersionRows(db, await MarkDays.ZoneAsync(db, cancellationToken)).WriteAsync(people, libraryId: null, cancellationToken);
        await db.VersionMarks.Where(m => people.Contains(m.PersonId)).ExecuteDeleteAsync(cancellationToken);
    }
}
