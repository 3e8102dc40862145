using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>Zips whose unpacking, or whose tidying up afterwards, a crash left standing.</summary>
public sealed class FindWaitingZips(ShelfDb db, UploadDesk desk)
{
    public async Task<IReadOnlyList<string>> RunAsync(CancellationToken cancellationToken)
    {
        var finished = await db.Uploads
            .Where(u => u.Kind == UploadKind.Zip && u.FinishedAt != null)
            .Select(u => new { u.Id, Done = u.UnpackedAt != null || u.Trouble != null })
            .ToListAsync(cancellationToken);
        return [.. finished.Where(u => !u.Done || desk.HasBytes(u.Id)).Select(u => u.Id)];
    }
}
