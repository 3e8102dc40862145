using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Who came here by a list has claimed the place with the first sign-in.</summary>
internal static class ImportClaims
{
    public static Task MarkAsync(ShelfDb db, long personId, DateTimeOffset now, CancellationToken cancellationToken) =>
        db.ImportedMembers.Where(m => m.PersonId == personId && m.ClaimedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(m => m.ClaimedAt, now), cancellationToken);
}
