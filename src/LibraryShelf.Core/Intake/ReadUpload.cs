using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>Says how far an upload is. One whose last byte came just before a crash is finished here, so that its sender need not send again.</summary>
public sealed class ReadUpload(ShelfDb db, UploadDesk desk, FinishUpload finish, TimeProvider clock)
{
    public async Task<UploadOutcome> RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        if (!UploadDesk.IsId(uploadId))
            return new UploadOutcome.NoSuchUpload();
        var upload = await db.Uploads.AsNoTracking().SingleOrDefaultAsync(u => u.Id == uploadId, cancellationToken);
        if (upload is null)
            return new UploadOutcome.NoSuchUpload();
        if (UploadExpiry.IsOver(upload, desk, clock.GetUtcNow()))
            return new UploadOutcome.Expired();
        var outcome = (await LookAsync(upload, cancellationToken)) with { Metadata = upload.Metadata };
        return outcome.IsUnfinished ? outcome with { ExpiresAt = UploadExpiry.Of(upload, desk) } : outcome;
    }

    private async Task<UploadOutcome> LookAsync(Upload upload, CancellationToken cancellationToken)
    {
        var offset = desk.OffsetOf(upload.Id);
        if (upload.FinishedAt is null && offset < upload.Length && desk.HasBytes(upload.Id))
            return new UploadOutcome.Open(offset, upload.Length);
        using var lease = desk.TryTake(upload.Id);
        return lease is null ? new UploadOutcome.Busy() : await finish.RunAsync(lease, cancellationToken);
    }
}
