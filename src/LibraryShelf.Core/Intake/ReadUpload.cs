using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>Says how far an upload is. One whose last byte came just before a crash is finished here, so that its sender need not send again.</summary>
public sealed class ReadUpload(ShelfDb db, UploadDesk desk, FinishUpload finish)
{
    public async Task<UploadOutcome> RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        if (!UploadDesk.IsId(uploadId))
            return new UploadOutcome.NoSuchUpload();
        var upload = await db.Uploads.AsNoTracking().SingleOrDefaultAsync(u => u.Id == uploadId, cancellationToken);
        if (upload is null)
            return new UploadOutcome.NoSuchUpload();
        var offset = desk.OffsetOf(uploadId);
        if (upload.FinishedAt is null && offset < upload.Length && desk.HasBytes(uploadId))
            return new UploadOutcome.Open(offset, upload.Length);
        using var lease = desk.TryTake(uploadId);
        return lease is null ? new UploadOutcome.Busy() : await finish.RunAsync(lease, cancellationToken);
    }
}
