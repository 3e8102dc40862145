using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

public enum EndUploadOutcome { Ended, NoSuchUpload, Busy }

/// <summary>Gives up an upload at its sender's wish: row and bytes go. What it already brought into the draft stays.</summary>
public sealed class EndUpload(ShelfDb db, UploadDesk desk)
{
    public async Task<EndUploadOutcome> RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        if (!UploadDesk.IsId(uploadId))
            return EndUploadOutcome.NoSuchUpload;
        using var lease = desk.TryTake(uploadId);
        if (lease is null)
            return EndUploadOutcome.Busy;
        if (await db.Uploads.Where(u => u.Id == uploadId).ExecuteDeleteAsync(cancellationToken) == 0)
            return EndUploadOutcome.NoSuchUpload;
        lease.Forget();
        desk.DeleteBytes(uploadId);
        return EndUploadOutcome.Ended;
    }
}
