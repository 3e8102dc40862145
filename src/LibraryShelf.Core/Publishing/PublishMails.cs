using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>
/// The mails that a version's coming to the shelf is the answer to: to those who told of a fault it mends, then to those whose version was
/// withdrawn and who have no good one in its place, then to others who have an earlier version, then to the library's followers.
/// </summary>
/// <param name="db">With a transaction open.</param>
/// <param name="release">Published; with its players, its library and that one's audiences.</param>
/// <param name="desk">Where the mails are written.</param>
internal sealed class PublishMails(ShelfDb db, Release release, MailDesk desk)
{
    /// <param name="before">The round before this one; the next group of people begins where nobody of a group is left.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public async Task<Round> WriteAsync(Round before, CancellationToken cancellationToken)
    {
        var mended = await TellOfMendedFaults.WriteAsync(db, release, desk, TellPeople.AtATime, cancellationToken);
        if (mended > 0)
            return before with { People = mended };
        var versions = new NewVersionMails(db, release, desk);
        Func<long, CancellationToken, Task<Round>>[] groups = [OfferAsync, versions.ToHoldersAsync, versions.ToFollowersAsync];
        for (var group = before.Group; group < groups.Length; group++)
        {
            var round = await groups[group](group == before.Group ? before.After : 0, cancellationToken);
            if (!round.IsLast)
                return round with { Group = group };
        }
        return new Round(0, 0);
    }

    private async Task<Round> OfferAsync(long after, CancellationToken cancellationToken)
    {
        var open = await OpenNotices.OfAsync(db, release.Library, cancellationToken);
        var people = await open.PeopleAsync(after, TellPeople.AtATime, cancellationToken);
        if (people.Count == 0)
            return new Round(0, after);
        var newer = await NewerVersions.LoadAsync(db, release.Library, people, desk.Now, cancellationToken);
        var emails = await db.Users.Where(p => people.Contains(p.Id) && !p.IsMaker && p.Email != null)
            .ToDictionaryAsync(p => p.Id, p => p.Email!, cancellationToken);
        var mails = new List<WrittenMail>();
        foreach (var theirs in await open.ReadAsync(people, cancellationToken))
        {
            var withdrawn = open.Highest(theirs)!;
            var fetched = newer.FetchedBy(theirs.Key, withdrawn.Number);
            var offered = fetched ?? newer.For(theirs.Key, withdrawn.Number);
            if (offered is null || !emails.TryGetValue(theirs.Key, out var email))
                continue;
            foreach (var notice in theirs)
                notice.OfferedReleaseId = offered.Id;
            // Whoever has fetched it already needs no telling.
            if (fetched is null)
                mails.Add(WithdrawnMail.Mended(theirs.Key, email, withdrawn, offered, desk));
        }
        await desk.WriteAsync(mails, cancellationToken);
        return new Round(people.Count, people[^1]);
    }
}
