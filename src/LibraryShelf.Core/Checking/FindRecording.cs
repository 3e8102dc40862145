using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Folders;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

/// <summary>
/// The path of a recording in a release by its bytes' hash, the first by path when it stands there twice; null when the release holds no
/// such recording, or its bytes are still on their way.
/// </summary>
public sealed class FindRecording(ShelfDb db)
{
    public async Task<string?> RunAsync(long releaseId, string sha256, CancellationToken cancellationToken)
    {
        var paths = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId && f.Sha256 == sha256 && db.Blobs.Any(b => b.Sha256 == f.Sha256))
            .OrderBy(f => f.Path).Select(f => f.Path).ToListAsync(cancellationToken);
        return paths.Find(p => FileKinds.Of(p) == FileKind.Recording);
    }
}
