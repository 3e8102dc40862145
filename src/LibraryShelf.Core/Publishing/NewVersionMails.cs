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
        var fetched = await Fetchers.HighestAsync(db, release.LibraryId, people, cancellationToken);
        var newer = await NewerVersions.LoadAsync(db, release.Library, people, desk.Now, cancellationToken);
        var told = fetched.Where(theirs => newer.For(theirs.Key, theirs.Value)?.Id == release.Id)
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
    private IQueryable<long> Holders()
    {
        var any = db.Releases.Where(r => r.LibraryId == release.LibraryId).Select(r => r.Id);
        var thisOne = db.Releases.Where(r => r.Id == release.Id).Select(r => r.Id);
        return from p in db.Users.Where(Fetchers.HasAnyOf(db, any)).Where(Fetchers.HasNoneOf(db, thisOne))
            where !p.IsMaker && p.Email != null && p.MergedIntoId == null
                && !db.MailRefusals.Any(r => r.PersonId == p.Id && r.Kind == MailKind.NewVersion)
                && !db.Outbox.Any(m => m.PersonId == p.Id && m.CreatedAt == release.PublishedAt && m.Cause.StartsWith("drop:"))
                && !db.WithdrawalNotices.Any(n => n.PersonId == p.Id && n.OfferedReleaseId == release.Id)
                && !db.FaultReports.Any(f => f.PersonId == p.Id && f.MendedInReleaseId == release.Id && f.ToldAt != null)
            select p.Id;
    }
}
