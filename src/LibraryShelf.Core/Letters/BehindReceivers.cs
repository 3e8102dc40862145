using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>Who gets the letter about a version that they don't have yet: a lower one is their newest, they may have this one, they want such mails, and none was written to them about it.</summary>
/// <param name="db">Where to read.</param>
/// <param name="release">On the shelf; with its library and that one's audiences.</param>
/// <param name="at">Now.</param>
internal sealed class BehindReceivers(ShelfDb db, Release release, DateTimeOffset at)
{
    public const string Word = "behind";

    /// <summary>Unique for the version and the person, so that nobody is written to twice.</summary>
    public static string CauseOf(long releaseId, long personId) => $"{Word}:{releaseId}:{personId}";

    /// <summary>Of the library, what is below this one, by id: only such as can be anybody's.</summary>
    public async Task<List<(long Id, string Number)>> LowerAsync(CancellationToken cancellationToken) =>
        [.. (await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.SealedAt != null).OrderBy(r => r.Id).Select(r => new { r.Id, r.Number }).ToListAsync(cancellationToken))
            .Where(r => ReleaseNumbers.ByPrecedence.Compare(r.Number, release.Number) < 0).Select(r => (r.Id, r.Number))];

    /// <summary>Those whose newest is one of the lower ones, and who can and want to be written to; whether they may have this one is not looked at yet.</summary>
    public IQueryable<long> Wanting(long lowerId) =>
        from v in db.PersonVersions
        where v.LibraryId == release.LibraryId && v.NextReleaseId == 0 && v.ReleaseId == lowerId
        join p in db.Users on v.PersonId equals p.Id
        where !p.IsMaker && p.Email != null && p.MergedIntoId == null
            && !db.MailRefusals.Any(r => r.PersonId == p.Id && r.Kind == MailKind.NewVersion)
            && !db.MailSuppressions.Any(s => s.NormalizedEmail == p.NormalizedEmail)
            && !db.Outbox.Any(m => m.PersonId == p.Id && m.AboutId == release.Id && m.Cause.StartsWith("behind:"))
        orderby v.PersonId
        select v.PersonId;

    /// <summary>Of these, who may have this version.</summary>
    /// <param name="people">At most a few hundred.</param>
    /// <param name="number">Of the one they have.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<List<long>> EntitledAsync(IReadOnlyCollection<long> people, string number, CancellationToken cancellationToken)
    {
        var newer = await NewerVersions.LoadAsync(db, release.Library, people, at, cancellationToken);
        return [.. people.Where(p => newer.For(p, number)?.Id == release.Id)];
    }

    /// <returns>The version, when it is on the shelf and none above it is; else null.</returns>
    public static async Task<Release?> LatestAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Players).Include(r => r.Library).ThenInclude(l => l.Audiences)
            .SingleOrDefaultAsync(r => r.Id == releaseId && r.State == ReleaseState.Published, cancellationToken);
        if (release is null)
            return null;
        var others = await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.State == ReleaseState.Published).Select(r => r.Number).ToListAsync(cancellationToken);
        return others.Exists(n => ReleaseNumbers.ByPrecedence.Compare(n, release.Number) > 0) ? null : release;
    }
}
