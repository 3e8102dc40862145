using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>Removes the bytes of a zip that was unpacked or refused. The row stays: it says what became of it.</summary>
public sealed class ClearUpload(ShelfDb db, UploadDesk desk)
{
    /// <summary>The release the zip went to when it was unpacked; null when it was refused or is not done yet.</summary>
    public async Task<long?> RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        var upload = await db.Uploads.AsNoTracking().SingleOrDefaultAsync(u => u.Id == uploadId, cancellationToken);
        if (upload is null || (upload.UnpackedAt is null && upload.Trouble is null))
            return null;
        desk.DeleteBytes(uploadId);
        return upload.UnpackedAt is null ? null : upload.ReleaseId;
    }
}
