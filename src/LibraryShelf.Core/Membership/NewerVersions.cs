using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>
/// Which version above a given one each of many people may have at an instant, by the rule of rights, read in a few questions however many
/// they are. Audiences, memberships, publishing and withdrawing are all dated, so that it can be asked about a past instant too.
/// </summary>
internal sealed class NewerVersions
{
    private readonly List<Release> _versions;
    private readonly Audience? _audience;
    private readonly HashSet<long> _members;
    private readonly HashSet<(long PersonId, long ReleaseId)> _taken;
    private readonly MonthHolders _holders;

    private NewerVersions(List<Release> versions, Audience? audience, HashSet<long> members, HashSet<(long, long)> taken, MonthHolders holders) =>
        (_versions, _audience, _members, _taken, _holders) = (versions, audience, members, taken, holders);

    /// <param name="db">Where to read.</param>
    /// <param name="than">The version they have.</param>
    /// <param name="library">With its audiences.</param>
    /// <param name="at">What held then.</param>
    /// <param name="comes">One more, with its players, that is being published and not saved as such yet.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public static async Task<NewerVersions> LoadAsync(
        ShelfDb db, Release than, Library library, DateTimeOffset at, Release? comes, CancellationToken cancellationToken)
    {
        var published = await db.Releases.AsNoTracking().Include(r => r.Players)
            .Where(r => r.LibraryId == library.Id && r.PublishedAt != null && r.PublishedAt <= at && (r.WithdrawnAt == null || r.WithdrawnAt > at))
            .ToListAsync(cancellationToken);
        var newer = (comes is null ? published : published.Append(comes)).Where(r => ReleaseNumbers.ByPrecedence.Compare(r.Number, than.Number) > 0)
            .OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence).ToList();
        var ids = newer.ConvertAll(r => r.Id);
        var members = await ActiveMembers.At(db, at).Distinct().ToListAsync(cancellationToken);
        var taken = await db.Downloads
            .Where(d => ids.Contains(d.ReleaseId) && d.PersonId != null && d.StartedAt != null && d.StartedAt <= at && d.Why == MayDownloadWhy.Free)
            .Select(d => new { PersonId = d.PersonId!.Value, d.ReleaseId }).Distinct().ToListAsync(cancellationToken);
        return new(newer, library.AudienceAt(at), [.. members], [.. taken.Select(t => (t.PersonId, t.ReleaseId))], await MonthHolders.LoadAsync(db, library, at, cancellationToken));
    }

    public bool IsEmpty => _versions.Count == 0;

    /// <summary>The highest number that this person, who is not the maker, may have; null when there is none.</summary>
    public Release? For(long personId) => _versions.Find(r => MayDownload.IsYes(MayDownload.Decide(new(
        ReleaseState.Published, _audience, IsSignedIn: true, IsMaker: false, _members.Contains(personId),
        _taken.Contains((personId, r.Id)), IsEarlyGuest: false, _holders.HaveMonth.Contains(personId),
        KeptAfterLeaving: r.PublishedAt <= _holders.KeptUntil(personId)))));
}
