using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>How many the withdrawal of a version concerns, before they are told.</summary>
internal static class ToldOfWithdrawal
{
    public static async Task<int> CountAsync(ShelfDb db, Release release, CancellationToken cancellationToken) =>
        await Fetchers.Of(db, release.Id).CountAsync(cancellationToken) + await CountOfferedAsync(db, release, cancellationToken);

    /// <summary>Those who were offered it in place of a withdrawn one, and fetched neither it nor another good one.</summary>
    public static async Task<int> CountOfferedAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var others = db.Releases.Where(r => r.LibraryId == release.LibraryId && r.State == ReleaseState.Published && r.Id != release.Id).Select(r => r.Id);
        return await WithdrawnMails.OfferedAndNotFetched(db, release.Id).Where(Fetchers.HasNoneOf(db, others)).CountAsync(cancellationToken);
    }
}
