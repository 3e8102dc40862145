using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>Zips whose unpacking a crash or a full disk left standing, or whose tidying up afterwards.</summary>
public sealed class FindWaitingZips(ShelfDb db, UploadDesk desk)
{
    /// <summary>Ids asked about at once.</summary>
    private const int Batch = 500;

    public async Task<IReadOnlyList<string>> RunAsync(CancellationToken cancellationToken)
    {
        var found = await db.Uploads
            .Where(u => u.Kind == UploadKind.Zip && u.FinishedAt != null && u.UnpackedAt == null && u.Trouble == null)
            .Select(u => u.Id).ToListAsync(cancellationToken);
        // Only what still lies on the disk can need tidying, and that is little, however many rows there are.
        foreach (var some in desk.AllBytes().Select(f => f.Id).Chunk(Batch))
            found.AddRange(await db.Uploads
                .Where(u => some.Contains(u.Id) && u.Kind == UploadKind.Zip && u.FinishedAt != null && (u.UnpackedAt != null || u.Trouble != null))
                .Select(u => u.Id).ToListAsync(cancellationToken));
        return found;
    }
}
