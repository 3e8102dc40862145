using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>
/// The mails that say a version was withdrawn: to everyone who fetched it, then to those who were offered it in place of another withdrawn one
/// and did not fetch it. Each offers the newest version that this person may have, or says that there is none yet.
/// </summary>
/// <param name="db">With a transaction open.</param>
/// <param name="release">Withdrawn; with its library and that one's audiences.</param>
/// <param name="desk">Where the mails are written.</param>
internal sealed class WithdrawnMails(ShelfDb db, Release release, MailDesk desk)
{
    public async Task<Round> WriteAsync(long after, CancellationToken cancellationToken)
    {
        var untold = Fetchers.Of(db, release.Id).Where(p => p.Id > after && !db.WithdrawalNotices.Any(n => n.ReleaseId == release.Id && n.PersonId == p.Id));
        var fetched = await Fetchers.ReadAsync(untold, TellPeople.AtATime, cancellationToken);
        if (fetched.Count > 0)
            return await TellAsync(fetched, areFetchers: true, cancellationToken);
        var offered = await Fetchers.ReadAsync(OfferedAndNotFetched(db, release.Id), TellPeople.AtATime, cancellationToken);
        return offered.Count > 0 ? await TellAsync(offered, areFetchers: false, cancellationToken) : new Round(0, after);
    }

    /// <summary>Those whom a notice offers this version, and who did not fetch it.</summary>
    public static IQueryable<Person> OfferedAndNotFetched(ShelfDb db, long releaseId)
    {
        return db.Users
            .Where(p => !p.IsMaker && p.Email != null && db.WithdrawalNotices.Any(n => n.PersonId == p.Id && n.OfferedReleaseId == releaseId))
            .Where(Fetchers.HasNoneOf(db, db.Releases.Where(r => r.Id == releaseId).Select(r => r.Id)))
            .OrderBy(p => p.Id);
    }

    private async Task<Round> TellAsync(List<Fetcher> people, bool areFetchers, CancellationToken cancellationToken)
    {
        var ids = people.ConvertAll(p => p.PersonId);
        var newer = await NewerVersions.LoadAsync(db, release.Library, ids, desk.Now, cancellationToken);
        var open = await OpenNotices.OfAsync(db, release.Library, cancellationToken);
        var notices = await open.ReadAsync(ids, cancellationToken);
        var mails = new List<WrittenMail>();
        foreach (var person in people)
        {
            var theirs = notices[person.PersonId].ToList();
            if (areFetchers)
            {
                theirs.Add(new WithdrawalNotice { ReleaseId = release.Id, PersonId = person.PersonId, ToldAt = desk.Now });
                db.WithdrawalNotices.Add(theirs[^1]);
            }
            var had = open.Highest(theirs)!;
            var has = newer.FetchedBy(person.PersonId, had.Number);
            var offered = has ?? newer.For(person.PersonId, had.Number);
            foreach (var notice in theirs)
                notice.OfferedReleaseId = offered?.Id;
            if (areFetchers)
                mails.Add(WithdrawnMail.Withdrawn(person, release, has, offered, desk));
            else if (has is null)
                mails.Add(WithdrawnMail.WithdrawnToo(person, had, release, offered, desk));
        }
        await desk.WriteAsync(mails, cancellationToken);
        // Whoever was offered it is no longer once told, so that only the first half needs to go on from someone.
        return new Round(people.Count, areFetchers ? ids[^1] : long.MaxValue);
    }
}
