using LibraryShelf.Core.Data;

namespace LibraryShelf.Core.Downloads;

/// <summary>Appends a batch of events in one transaction. An event counts once this has returned.</summary>
public sealed class RecordEvents(ShelfDb db)
{
    public async Task RunAsync(IReadOnlyList<DownloadEvent> batch, CancellationToken cancellationToken)
    {
        db.DownloadEvents.AddRange(batch);
        await db.SaveChangesAsync(cancellationToken);
    }
}
