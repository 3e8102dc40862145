using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>
/// Which version of a library above a given number each of many people has fetched, or may have by the rule of rights. Read in a few questions
/// however many they are; what is withdrawn is none of these.
/// </summary>
internal sealed class NewerVersions
{
    private readonly List<Release> _versions;
    private readonly Library _library;
    private readonly Audience? _audience;
    private readonly HashSet<long> _members;
    /// <summary>True: it was free then.</summary>
    private readonly ILookup<(long PersonId, long ReleaseId), bool> _fetched;
    private readonly MonthHolders _holders;

    private NewerVersions(
        List<Release> versions, Library library, Audience? audience, HashSet<long> members, ILookup<(long, long), bool> fetched, MonthHolders holders) =>
        (_versions, _library, _audience, _members, _fetched, _holders) = (versions, library, audience, members, fetched, holders);

    /// <param name="db">Where to read.</param>
    /// <param name="library">With its audiences.</param>
    /// <param name="people">Whom it is about, at most a few hundred: each is a parameter of the question.</param>
    /// <param name="at">Now.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static async Task<NewerVersions> LoadAsync(
        ShelfDb db, Library library, IReadOnlyCollection<long> people, DateTimeOffset at, CancellationToken cancellationToken)
    {
        var published = await db.Releases.AsNoTracking().Include(r => r.Players)
            .Where(r => r.LibraryId == library.Id && r.State == ReleaseState.Published).ToListAsync(cancellationToken);
        var ids = published.ConvertAll(r => r.Id);
        var members = await ActiveMembers.At(db, at).Where(id => people.Contains(id)).Distinct().ToListAsync(cancellationToken);
        var fetched = await db.Downloads
            .Where(d => d.PersonId != null && people.Contains(d.PersonId.Value) && ids.Contains(d.ReleaseId) && d.StartedAt != null)
            .Select(d => new { PersonId = d.PersonId!.Value, d.ReleaseId, IsFree = d.Why == MayDownloadWhy.Free }).Distinct().ToListAsync(cancellationToken);
        fetched.AddRange(await MonthFetches.Of(db).Where(f => f.PersonId != null && people.Contains(f.PersonId.Value) && ids.Contains(f.ReleaseId))
            .Select(f => new { PersonId = f.PersonId!.Value, f.ReleaseId, IsFree = f.Why == MayDownloadWhy.Free }).Distinct().ToListAsync(cancellationToken));
        return new(
            [.. published.OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence)], library, library.AudienceAt(at), [.. members],
            fetched.ToLookup(f => (f.PersonId, f.ReleaseId), f => f.IsFree),
            await MonthHolders.LoadAsync(db, [.. published.SelectMany(r => r.MonthsIn(library)).Distinct()], people, at, cancellationToken));
    }

    /// <summary>The highest above <paramref name="than"/> that this person, who is not the maker, may have; null when there is none.</summary>
    public Release? For(long personId, string than) => _versions.Find(r => IsAbove(r, than) && MayDownload.IsYes(MayDownload.Decide(new(
        ReleaseState.Published, _audience, IsSignedIn: true, IsMaker: false, _members.Contains(personId),
        TookItWhileFree: _fetched[(personId, r.Id)].Contains(true), IsEarlyGuest: false, _holders.Has(personId, r.MonthsIn(_library)),
        KeptAfterLeaving: r.PublishedAt <= _holders.KeptUntil(personId)))));

    /// <summary>The highest above <paramref name="than"/> that this person has fetched; null when there is none.</summary>
    public Release? FetchedBy(long personId, string than) => _versions.Find(r => IsAbove(r, than) && _fetched.Contains((personId, r.Id)));

    private static bool IsAbove(Release release, string than) => ReleaseNumbers.ByPrecedence.Compare(release.Number, than) > 0;
}
