using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>What keeps a sealed version from going out, to everyone or to chosen people.</summary>
internal enum GateTrouble { NotDeclared, ArchiveDamaged }

internal static class PublishGate
{
    /// <returns>Null when nothing does.</returns>
    public static async Task<GateTrouble?> LookAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        if (await db.Archives.AnyAsync(
            a => a.ReleaseId == release.Id && a.Kind == ArchiveKind.Full && a.Sha256 == null && a.Trouble != null, cancellationToken))
            return GateTrouble.ArchiveDamaged;
        return await Declaration.IsMissingAsync(db, release.Library, cancellationToken) ? GateTrouble.NotDeclared : null;
    }
}
