using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>Those who have a version below the latest of a box, and what may keep them there.</summary>
/// <param name="Slug">Of the box.</param>
/// <param name="Title">Its name.</param>
/// <param name="LatestId">The highest version on the shelf.</param>
/// <param name="Latest">Its number.</param>
/// <param name="Needs">What it opens in: "Pondskater 2.3 or Rushlight 5, or later"; "" where the maker named none.</param>
/// <param name="Versions">Below it, that anybody has as their newest; highest number first.</param>
/// <param name="Shown">Of them, whose people are listed; null: nobody is left behind.</param>
/// <param name="People">A page of them.</param>
/// <param name="Page">From 1.</param>
/// <param name="Pages">How many there are.</param>
/// <param name="Letter">The letter about the latest; null: none was asked for.</param>
public sealed record LeftBehind(
    string Slug, string Title, long LatestId, string Latest, string Needs, IReadOnlyList<BehindVersion> Versions, BehindVersion? Shown, IReadOnlyList<BehindPerson> People, int Page, int Pages,
    BehindLetter? Letter)
{
    public int All => Versions.Sum(v => v.People);
}

/// <param name="Number">SemVer.</param>
/// <param name="People">How many have it as their newest.</param>
/// <param name="OpenedIn">"Pondskater 1.8"; "" where the maker named none.</param>
/// <param name="NeedsMore">No player that is enough for this one is known to be enough for the latest.</param>
public sealed record BehindVersion(string Number, int People, string OpenedIn, bool NeedsMore);

/// <param name="PersonId">Who.</param>
/// <param name="Email">Where mails go.</param>
/// <param name="Since">When they finished the version they have.</param>
/// <param name="MayHave">The highest above theirs that they may have; null: none, they are no member any more or never were.</param>
/// <param name="WantsNone">They want no mails about new versions.</param>
/// <param name="IsClosed">Their mailbox refused for good.</param>
/// <param name="ToldAt">When a mail about the latest was sent to them.</param>
public sealed record BehindPerson(long PersonId, string Email, DateTimeOffset Since, string? MayHave, bool WantsNone, bool IsClosed, DateTimeOffset? ToldAt);

/// <summary>Reads who is left behind on a box, a page of them at a time.</summary>
public sealed class ReadLeftBehind(ShelfDb db, TimeProvider clock)
{
    public const int PageSize = 50;

    /// <param name="slug">A box.</param>
    /// <param name="number">Whose people are listed, those of this version; null, or one nobody has: of the highest below the latest.</param>
    /// <param name="page">From 1; others are brought into the bounds.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>Null: there is no such box, or no version of it on the shelf.</returns>
    public async Task<LeftBehind?> RunAsync(string slug, string? number, int page, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.AsNoTracking().Include(l => l.Audiences).SingleOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return null;
        var rows = await db.Releases.AsNoTracking().Include(r => r.Players).Where(r => r.LibraryId == library.Id && r.SealedAt != null).ToListAsync(cancellationToken);
        if (rows.Where(r => r.State == ReleaseState.Published).MaxBy(r => r.Number, ReleaseNumbers.ByPrecedence) is not { } latest)
            return null;
        var counts = await db.PersonVersions.Where(v => v.LibraryId == library.Id && v.NextReleaseId == 0).GroupBy(v => v.ReleaseId)
            .Select(g => new { g.Key, People = g.Count() }).ToDictionaryAsync(g => g.Key, g => g.People, cancellationToken);
        var lower = rows.Where(r => counts.ContainsKey(r.Id) && ReleaseNumbers.ByPrecedence.Compare(r.Number, latest.Number) < 0)
            .OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence).ToList();
        var versions = lower.ConvertAll(r => new BehindVersion(r.Number, counts[r.Id], OpensIn.Or(Named(r)), NeedsMore(r, latest)));
        var shown = lower.Find(r => r.Number == number) ?? lower.FirstOrDefault();
        var pages = shown is null ? 1 : (counts[shown.Id] + PageSize - 1) / PageSize;
        page = Math.Clamp(page, 1, pages);
        return new(
            slug, library.Title, latest.Id, latest.Number, OpensIn.Needs(latest.Players), versions, shown is null ? null : versions.Find(v => v.Number == shown.Number),
            shown is null ? [] : await PeopleAsync(library, latest, shown, page, cancellationToken), page, pages,
            await db.BehindLetters.AsNoTracking().SingleOrDefaultAsync(l => l.ReleaseId == latest.Id, cancellationToken));
    }

    private async Task<IReadOnlyList<BehindPerson>> PeopleAsync(Library library, Release latest, Release shown, int page, CancellationToken cancellationToken)
    {
        var rows = await (from v in db.PersonVersions
                          where v.LibraryId == library.Id && v.NextReleaseId == 0 && v.ReleaseId == shown.Id
                          orderby v.PersonId
                          join p in db.Users on v.PersonId equals p.Id
                          select new
                          {
                              v.PersonId, v.Since, p.Email,
                              WantsNone = db.MailRefusals.Any(r => r.PersonId == p.Id && r.Kind == MailKind.NewVersion),
                              IsClosed = db.MailSuppressions.Any(s => s.NormalizedEmail == p.NormalizedEmail),
                              ToldAt = db.Outbox.Where(m => m.PersonId == p.Id && m.AboutId == latest.Id && m.SentAt != null && (m.Cause.StartsWith("version:") || m.Cause.StartsWith("behind:"))).Max(m => m.SentAt),
                          }).Skip((page - 1) * PageSize).Take(PageSize).ToListAsync(cancellationToken);
        var newer = await NewerVersions.LoadAsync(db, library, rows.ConvertAll(r => r.PersonId), clock.GetUtcNow(), cancellationToken);
        return [.. rows.Select(r => new BehindPerson(r.PersonId, r.Email ?? "", r.Since, newer.For(r.PersonId, shown.Number)?.Number, r.WantsNone, r.IsClosed, r.ToldAt))];
    }

    private static IEnumerable<(string Name, string LowestVersion)> Named(Release release) => release.Players.OrderBy(p => p.Order).ThenBy(p => p.Id).Select(p => (p.Name, p.LowestVersion));

    /// <summary>Whoever has the lowest player that was enough for the one needs another for the other; where the maker named none, nothing is known of it.</summary>
    private static bool NeedsMore(Release has, Release latest) =>
        has.Players.Count > 0 && latest.Players.Count > 0 && !has.Players.Exists(p => latest.Players.Exists(l => string.Equals(l.Name, p.Name, StringComparison.OrdinalIgnoreCase)
            && (l.LowestVersion.Length == 0 || (OpensIn.IsVersion(p.LowestVersion) && OpensIn.IsEnough(p.LowestVersion, l.LowestVersion)))));
}
