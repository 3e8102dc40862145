using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>
/// What stands between a version and its people. <paramref name="Fetched"/>: how many, signed in, fetched it and are told if it is withdrawn;
/// <paramref name="Offered"/>: how many more were offered it in place of a withdrawn one, and are told too; <paramref name="Newer"/>: the highest number on the shelf above it; <paramref name="OpenFaults"/>: what people told of its library and
/// nobody settled yet, oldest first, at most <see cref="ReadPublishing.MostFaults"/>.
/// </summary>
public sealed record PublishStanding(
    string Slug, bool NeedsDeclaration, IReadOnlyList<EarlyGuestLine> Guests, int Fetched, int Offered, string? Newer, IReadOnlyList<FaultReport> OpenFaults);

/// <summary>Reads it for the pages that publish, give early and withdraw; null when there is no such release.</summary>
public sealed class ReadPublishing(ShelfDb db)
{
    public const int MostFaults = 5;

    public async Task<PublishStanding?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var numbers = await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.State == ReleaseState.Published)
            .Select(r => r.Number).ToListAsync(cancellationToken);
        var newer = numbers.Where(n => ReleaseNumbers.ByPrecedence.Compare(n, release.Number) > 0).Max(ReleaseNumbers.ByPrecedence);
        return new PublishStanding(
            release.Library.Slug, await Declaration.IsMissingAsync(db, release.Library, cancellationToken),
            await EarlyGuestLine.ReadAsync(db, releaseId, cancellationToken),
            await Fetchers.Of(db, releaseId).CountAsync(cancellationToken), await ToldOfWithdrawal.CountOfferedAsync(db, release, cancellationToken), newer,
            await db.FaultReports.AsNoTracking().Where(f => f.LibraryId == release.LibraryId && f.SettledAt == null)
                .OrderBy(f => f.ReportedAt).ThenBy(f => f.Id).Take(MostFaults).ToListAsync(cancellationToken));
    }
}
