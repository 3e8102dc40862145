using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>The withdrawals of one library, and who of those told of them has no good version in place of theirs.</summary>
internal sealed class OpenNotices
{
    private readonly ShelfDb _db;
    private readonly Dictionary<long, Release> _withdrawn;
    private readonly List<long> _ids;

    private OpenNotices(ShelfDb db, Dictionary<long, Release> withdrawn) => (_db, _withdrawn, _ids) = (db, withdrawn, [.. withdrawn.Keys]);

    public static async Task<OpenNotices> OfAsync(ShelfDb db, Library library, CancellationToken cancellationToken)
    {
        var withdrawn = await db.Releases.AsNoTracking().Where(r => r.LibraryId == library.Id && r.State == ReleaseState.Withdrawn)
            .ToDictionaryAsync(r => r.Id, cancellationToken);
        foreach (var release in withdrawn.Values)
            release.Library = library;
        return new OpenNotices(db, withdrawn);
    }

    /// <summary>The next of these people by their ids.</summary>
    public Task<List<long>> PeopleAsync(long after, int most, CancellationToken cancellationToken) =>
        All().Where(n => n.PersonId > after).Select(n => n.PersonId).Distinct().OrderBy(id => id).Take(most).ToListAsync(cancellationToken);

    /// <summary>Their notices, tracked, by person.</summary>
    public async Task<ILookup<long, WithdrawalNotice>> ReadAsync(List<long> people, CancellationToken cancellationToken) =>
        (await All().Where(n => people.Contains(n.PersonId)).ToListAsync(cancellationToken)).ToLookup(n => n.PersonId);

    /// <summary>The highest version that these notices are about; null when there are none.</summary>
    public Release? Highest(IEnumerable<WithdrawalNotice> notices) =>
        notices.Select(n => _withdrawn[n.ReleaseId]).MaxBy(r => r.Number, ReleaseNumbers.ByPrecedence);

    private IQueryable<WithdrawalNotice> All() => _db.WithdrawalNotices.Where(
        n => _ids.Contains(n.ReleaseId) && (n.OfferedReleaseId == null || _ids.Contains(n.OfferedReleaseId.Value)));
}
