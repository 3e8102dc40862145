using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>
/// What stands between a version and its people. <paramref name="Fetched"/>: how many, signed in, fetched it and are told if it is withdrawn;
/// <paramref name="Newer"/>: the highest number on the shelf above it.
/// </summary>
public sealed record PublishStanding(bool NeedsDeclaration, IReadOnlyList<EarlyGuestLine> Guests, int Fetched, string? Newer);

/// <summary>Reads it for the pages that publish, give early and withdraw; null when there is no such release.</summary>
public sealed class ReadPublishing(ShelfDb db)
{
    public async Task<PublishStanding?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var numbers = await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.State == ReleaseState.Published)
            .Select(r => r.Number).ToListAsync(cancellationToken);
        var newer = numbers.Where(n => ReleaseNumbers.ByPrecedence.Compare(n, release.Number) > 0).Max(ReleaseNumbers.ByPrecedence);
        return new PublishStanding(
            await Declaration.IsMissingAsync(db, release.Library, cancellationToken),
            await EarlyGuestLine.ReadAsync(db, releaseId, cancellationToken),
            await Fetchers.CountAsync(db, releaseId, cancellationToken), newer);
    }
}
