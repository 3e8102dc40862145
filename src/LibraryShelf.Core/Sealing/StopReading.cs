using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// Stops the reading through of an archive that runs, or waits to be run: within a second or two. Of its checksum nothing is kept, because that is one over all bytes; the archive
/// is handed out as before. Nobody begins it again before the maker asks (<see cref="AskForDigest"/>).
/// </summary>
public sealed class StopReading(ShelfDb db, TimeProvider clock)
{
    /// <returns>False: it was read, could not be, or was stopped before; nothing was changed.</returns>
    public async Task<bool> RunAsync(long archiveId, CancellationToken cancellationToken)
    {
        var (now, name) = (clock.GetUtcNow(), ProgressNotes.Digest(archiveId));
        // One with trouble is read again each day, too, without being asked for.
        return await db.Archives
            .Where(a => a.Id == archiveId && a.Sha256 == null && a.ReadStoppedAt == null && (a.Trouble == null || a.ReadAskedAt != null || db.WorkProgress.Any(p => p.Name == name)))
            .ExecuteUpdateAsync(s => s.SetProperty(a => a.ReadStoppedAt, now).SetProperty(a => a.ReadAskedAt, (DateTimeOffset?)null), cancellationToken) > 0;
    }
}
