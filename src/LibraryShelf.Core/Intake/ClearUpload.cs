using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// Removes the bytes of a zip that was unpacked or refused, or whose release was discarded. The row stays for a while: it says
/// what became of it.
/// </summary>
public sealed class ClearUpload(ShelfDb db, UploadDesk desk)
{
    /// <summary>Harmless when the zip is not done yet or its bytes are gone.</summary>
    public async Task RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        if (!await db.Uploads.AnyAsync(u => u.Id == uploadId && u.UnpackedAt == null && u.Trouble == null, cancellationToken))
            desk.DeleteBytes(uploadId);
    }
}
