using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

/// <summary>Lines of a manifest whose bytes have not come yet.</summary>
internal static class MissingFiles
{
    public static Task<int> CountAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken) =>
        db.ReleaseFiles.CountAsync(f => f.ReleaseId == releaseId && !db.Blobs.Any(b => b.Sha256 == f.Sha256), cancellationToken);

    public static string Words(int files) => files == 1
        ? T("One file is still on its way. What has come is kept; send the folder again to go on, then ask for the check.")
        : T($"{files} files are still on their way. What has come is kept; send the folder again to go on, then ask for the check.");
}
