using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Publishing;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>Brings all versions of a drop to the shelf, and its month's rights with them: in memory, for the caller to save in its transaction, or not.</summary>
internal static class BringDropOut
{
    /// <param name="db">With a transaction open.</param>
    /// <param name="drop">A planned one.</param>
    /// <param name="shelfAddress">For the mails about what its versions mend; null: they name no address.</param>
    /// <param name="at">The instant at which it is out.</param>
    /// <param name="now">For whom a library is at this instant.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>
    /// Those that came to the shelf with it; or what it lacks, in sentences for the maker: then what was moved on the way to finding out must not be saved.
    /// </returns>
    public static async Task<(IReadOnlyList<long> Published, IReadOnlyList<string> Lacks)> RunAsync(
        ShelfDb db, Drop drop, string? shelfAddress, DateTimeOffset at, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var versions = (await DropVersions.LoadAsync(db, [drop.Id], now, cancellationToken))[drop.Id].ToList();
        if (DropReadiness.Of(drop.Month, versions) is { Count: > 0 } gaps)
            return ([], [.. gaps.Select(g => g.Words)]);
        var published = new List<long>();
        foreach (var release in (await ReleasesAsync(db, versions, cancellationToken)).OrderBy(r => r.Number, ReleaseNumbers.ByPrecedence))
        {
            if (release.State != ReleaseState.Published)
            {
                if (await PublishGate.LookAsync(db, release, cancellationToken) is not null)
                    return ([], [T($"{release.Library.Title} {release.Number} can’t be published. Its page says why.")]);
                published.Add(release.Id);
            }
            BringOut(release, drop.Month, shelfAddress, at);
        }
        (drop.State, drop.SentAt, drop.AsksSince) = (DropState.Sent, at, null);
        drop.Revision++;
        return (published, []);
    }

    /// <summary>Asks all that <see cref="RunAsync"/> asks once; what is answered is not used.</summary>
    public static async Task WarmUpAsync(ShelfDb db, long dropId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        foreach (var release in await ReleasesAsync(db, [.. (await DropVersions.LoadAsync(db, [dropId], now, cancellationToken))[dropId]], cancellationToken))
            await PublishGate.LookAsync(db, release, cancellationToken);
    }

    private static Task<List<Release>> ReleasesAsync(ShelfDb db, List<DropVersion> versions, CancellationToken cancellationToken)
    {
        var ids = versions.ConvertAll(v => v.ReleaseId);
        return db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences).Include(r => r.Library.Releases).AsSplitQuery()
            .Where(r => ids.Contains(r.Id)).ToListAsync(cancellationToken);
    }

    private static void BringOut(Release release, YearMonth month, string? shelfAddress, DateTimeOffset at)
    {
        var library = release.Library;
        var isFirst = library.Releases.TrueForAll(r => r.PublishedAt is null);
        if (release.State != ReleaseState.Published)
        {
            release.MoveTo(ReleaseState.Published, at);
            (release.PublishAfterSealFor, release.Trouble, release.TellPlace) = (null, null, shelfAddress);
            release.InheritMonths(library.Releases);
        }
        if (library.AudienceAt(at) is null)
            library.Decide(Audience.Members, at);
        if (isFirst && library.Month is null && library.AudienceAt(at) == Audience.Members)
            library.Month = month;
        if (library.Month == month)
            return;
        // Whoever has the month has every later version too, also one that is out already.
        foreach (var later in library.Releases.Where(r => r.PublishedAt is not null && ReleaseNumbers.ByPrecedence.Compare(r.Number, release.Number) >= 0))
            later.AddMonths([month]);
    }
}
