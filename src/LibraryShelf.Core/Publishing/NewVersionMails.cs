using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>
/// Rows, without text, of the mails that a library has a new version: to whoever fetched an earlier one and may have this one, then to its followers. The
/// text is composed when each is sent, and what is not needed by then is left out there.
/// </summary>
/// <param name="db">With a transaction open.</param>
/// <param name="release">Published; with its library and that one's audiences.</param>
/// <param name="desk">Where the mails are written.</param>
internal sealed class NewVersionMails(ShelfDb db, Release release, MailDesk desk)
{
    public async Task<Round> ToHoldersAsync(long after, CancellationToken cancellationToken)
    {
        var people = await Holders().Where(p => p > after).OrderBy(p => p).Take(TellPeople.AtATime).ToListAsync(cancellationToken);
        if (people.Count == 0)
            return new Round(0, after);
        var fetched = await db.Downloads.Where(d => d.PersonId != null && people.Contains(d.PersonId.Value) && d.LibraryId == release.LibraryId && d.StartedAt != null)
            .Join(db.Releases, d => d.ReleaseId, r => r.Id, (d, r) => new { PersonId = d.PersonId!.Value, r.Number }).Distinct().ToListAsync(cancellationToken);
        var newer = await NewerVersions.LoadAsync(db, release.Library, people, desk.Now, cancellationToken);
        var told = fetched.GroupBy(f => f.PersonId, f => f.Number)
            .Where(theirs => newer.For(theirs.Key, theirs.Max(ReleaseNumbers.ByPrecedence)!)?.Id == release.Id)
            .Select(theirs => WrittenMail.Later($"version:{release.Id}:{theirs.Key}", release.Id, theirs.Key));
        await desk.WriteAsync([.. told], cancellationToken);
        return new Round(people.Count, people[^1]);
    }

    public async Task<Round> ToFollowersAsync(long after, CancellationToken cancellationToken)
    {
        var followers = await db.Followers.Where(f => f.LibraryId == release.LibraryId && f.ConfirmedAt != null && f.Id > after)
            .OrderBy(f => f.Id).Select(f => f.Id).Take(TellPeople.AtATime).ToListAsync(cancellationToken);
        await desk.WriteAsync(followers.ConvertAll(id => WrittenMail.Later($"follow:{release.Id}:{id}", release.Id, personId: null)), cancellationToken);
        return new Round(followers.Count, followers.Count == 0 ? after : followers[^1]);
    }

    /// <summary>
    /// Who fetched anything of the library, can be written to and wants to be. Left out is who has this version, and who hears of it already: by the drop's
    /// letter, as the one in place of a withdrawn version, or because it mends what they told of.
    /// </summary>
    private IQueryable<long> Holders() =>
        from p in db.Users
        where !p.IsMaker && p.Email != null && p.MergedIntoId == null
            && db.Downloads.Any(d => d.PersonId == p.Id && d.LibraryId == release.LibraryId && d.StartedAt != null)
            && !db.Downloads.Any(d => d.PersonId == p.Id && d.ReleaseId == release.Id && d.StartedAt != null)
            && !db.MailRefusals.Any(r => r.PersonId == p.Id && r.Kind == MailKind.NewVersion)
            && !db.Outbox.Any(m => m.PersonId == p.Id && m.CreatedAt == release.PublishedAt && m.Cause.StartsWith("drop:"))
            && !db.WithdrawalNotices.Any(n => n.PersonId == p.Id && n.OfferedReleaseId == release.Id)
            && !db.FaultReports.Any(f => f.PersonId == p.Id && f.MendedInReleaseId == release.Id && f.ToldAt != null)
        select p.Id;
}
