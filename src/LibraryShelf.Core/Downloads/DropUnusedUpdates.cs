using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Removes update archives that nobody fetched for a while after they were asked for: they are rows and recipes, and are made again when
/// asked for. It stands in this step because only here is known what was fetched. The recipes' blobs go as any that nothing uses.
/// </summary>
public sealed class DropUnusedUpdates(ShelfDb db, TimeProvider clock)
{
    /// <summary>Far longer than a link lives that was never used.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromDays(30);

    /// <returns>How many went.</returns>
    public Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var before = now - KeptFor;
        // FindUpdate steps the date of one that is asked for again, so none goes from under a link that is just being made.
        return db.Archives
            .Where(a => a.Kind == ArchiveKind.Update && a.CreatedAt < before)
            .Where(a => !db.Downloads.Any(d => d.ReleaseId == a.ReleaseId && d.FromReleaseId != null && d.FromReleaseId == a.FromReleaseId && (d.StartedAt != null || d.StartBy > now)))
            .ExecuteDeleteAsync(cancellationToken);
    }
}
