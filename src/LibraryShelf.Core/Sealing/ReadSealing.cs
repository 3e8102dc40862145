using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// What the seal page tells: how ready an unsealed release is, or the full archive of a sealed one, and who its library is for now
/// (null: not decided).
/// </summary>
public sealed record SealStanding(Readiness? Readiness, Archive? Archive, Audience? Audience);

/// <summary>Reads where a release stands with its sealing; null when there is none of that id.</summary>
public sealed class ReadSealing(ShelfDb db, TimeProvider clock)
{
    public async Task<SealStanding?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Players).Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var archive = await db.Archives.AsNoTracking()
            .FirstOrDefaultAsync(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full, cancellationToken);
        var readiness = release.IsSealed ? null : await SealReadiness.LookAsync(db, release, cancellationToken);
        return new SealStanding(readiness, archive, release.Library.AudienceAt(clock.GetUtcNow()));
    }
}
