using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>Asks that a release's full archive be read through once more, when the last reading said that it can't be.</summary>
public sealed class AskForDigest(ShelfDb db)
{
    /// <returns>The archive, whose reading is to be woken; null when there is none of which trouble is said.</returns>
    public async Task<long?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var damaged = db.Archives.Where(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full && a.Sha256 == null && a.Trouble != null);
        if (await damaged.Select(a => (long?)a.Id).FirstOrDefaultAsync(cancellationToken) is not { } archiveId)
            return null;
        // Without trouble the sweep wakes it too, should this wake-up be lost.
        await damaged.ExecuteUpdateAsync(s => s.SetProperty(a => a.Trouble, (string?)null), cancellationToken);
        return archiveId;
    }
}
