using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters;

/// <summary>What became of composing a mail.</summary>
public abstract record LetterOutcome
{
    private LetterOutcome() { }

    public sealed record Written(string Subject, string Text) : LetterOutcome;

    /// <summary>There is nothing to tell any more; <paramref name="Why"/> is for the maker.</summary>
    public sealed record NotNeeded(string Why) : LetterOutcome;
}

/// <summary>
/// Composes a mail that was written without a text (<see cref="OutboxMail.AboutId"/>), by what is so when it is sent: "drop:{drop}:{person}",
/// "slip:{drop}:{person}:{telling}", "version:{release}:{person}", "behind:{release}:{person}" and "follow:{release}:{follower}". Nothing is written down.
/// </summary>
public sealed class WriteLetter(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    private static readonly LetterOutcome Gone = new LetterOutcome.NotNeeded(T("Not sent: the version is not on the shelf any more."));
    private static readonly LetterOutcome NotTheirs = new LetterOutcome.NotNeeded(T("Not sent: it is not open to them any more, so the letter would lead nowhere."));

    /// <param name="mail">Of a person or a follower who is there.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <exception cref="InvalidOperationException">The cause begins with none of the five words.</exception>
    public async Task<LetterOutcome> RunAsync(OutboxMail mail, CancellationToken cancellationToken)
    {
        var receiver = await Receiver.FindAsync(db, mail, cancellationToken);
        if (receiver is null || mail.AboutId is not { } about)
            return new LetterOutcome.NotNeeded(T("Not sent: whom it was for is not there any more."));
        var desk = new LetterDesk(await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken), LetterDesk.AddressOf(settings.Value.PublicUrl));
        return mail.Cause.Split(':', 2)[0] switch
        {
            "drop" => await DropAsync(about, receiver, desk, cancellationToken),
            "slip" => await SlipAsync(about, mail, receiver, desk, cancellationToken),
            "version" => await VersionAsync(about, receiver, desk, cancellationToken),
            BehindReceivers.Word => await BehindAsync(about, receiver, desk, cancellationToken),
            "follow" => await FollowAsync(about, receiver, desk, cancellationToken),
            var word => throw new InvalidOperationException($"Nothing here composes a mail whose cause begins with “{word}”."),
        };
    }

    private async Task<LetterOutcome> DropAsync(long dropId, Receiver receiver, LetterDesk desk, CancellationToken cancellationToken)
    {
        var drop = await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Id == dropId && d.State == DropState.Sent, cancellationToken);
        if (drop is null)
            return new LetterOutcome.NotNeeded(T("Not sent: the drop did not go out."));
        var ids = await db.DropReleases.Where(r => r.DropId == dropId).OrderBy(r => r.Place).Select(r => r.ReleaseId).ToListAsync(cancellationToken);
        var releases = await LetterRelease.LoadAsync(db, ids, receiver.PersonId, cancellationToken);
        // As it stands now: who was a member at that instant and may have none of it any more (a refund, a gift's end) would only find a closed page.
        var theirs = await MayHaveAsync(releases, receiver.PersonId, cancellationToken);
        return theirs.Count == 0 ? NoneOf(releases) : Written(DropLetter.Write(drop, theirs, desk));
    }

    private async Task<LetterOutcome> SlipAsync(long dropId, OutboxMail mail, Receiver receiver, LetterDesk desk, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        if (await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Id == dropId, cancellationToken) is not { SlippedAt: not null } drop)
            return new LetterOutcome.NotNeeded(T("Not sent: the month is not said to slip any more."));
        if (drop.State == DropState.Sent)
            return new LetterOutcome.NotNeeded(T("Not sent: the drop is out meanwhile, and its own letter tells of it."));
        var telling = ":" + drop.SlipMark;
        if (!mail.Cause.EndsWith(telling, StringComparison.Ordinal))
            return new LetterOutcome.NotNeeded(T("Not sent: the slip was told anew since, and the newest letter tells of it."));
        // Of two accounts made one, each had a letter.
        if (await db.Outbox.AnyAsync(m => m.PersonId == receiver.PersonId && m.AboutId == dropId && m.SentAt != null && m.Cause.StartsWith("slip:") && m.Cause.EndsWith(telling), cancellationToken))
            return new LetterOutcome.NotNeeded(T("Not sent: they were told of it by another mail."));
        var person = await PersonFacts.LoadAsync(db, receiver.PersonId, now, cancellationToken);
        if (!person.IsActiveMember && !person.Months.Contains(drop.Month))
            return new LetterOutcome.NotNeeded(T("Not sent: they are no member any more, and don’t have this month."));
        return Written(SlipLetter.Write(drop, now, desk));
    }

    private async Task<LetterOutcome> VersionAsync(long releaseId, Receiver receiver, LetterDesk desk, CancellationToken cancellationToken)
    {
        var releases = await LetterRelease.LoadAsync(db, [releaseId], receiver.PersonId, cancellationToken);
        var theirs = await MayHaveAsync(releases, receiver.PersonId, cancellationToken);
        if (theirs.Count == 0)
            return NoneOf(releases);
        if (await IsToldByDropAsync(releaseId, receiver.PersonId, cancellationToken))
            return new LetterOutcome.NotNeeded(T("Not sent: the letter of the drop tells of it."));
        if (await IsOutdoneAsync(theirs[0].Release, cancellationToken))
            return new LetterOutcome.NotNeeded(T("Not sent: a newer version is there, and they are told of that."));
        var has = receiver.PersonId is { } person
            ? (await Fetchers.HighestAsync(db, theirs[0].Release.LibraryId, [person], cancellationToken)).GetValueOrDefault(person) : null;
        return has is null || ReleaseNumbers.ByPrecedence.Compare(has, theirs[0].Release.Number) >= 0
            ? new LetterOutcome.NotNeeded(T("Not sent: they have fetched it meanwhile."))
            : Written(VersionLetter.ToHolder(theirs[0], has, desk));
    }

    private async Task<LetterOutcome> BehindAsync(long releaseId, Receiver receiver, LetterDesk desk, CancellationToken cancellationToken)
    {
        var releases = await LetterRelease.LoadAsync(db, [releaseId], receiver.PersonId, cancellationToken);
        var theirs = await MayHaveAsync(releases, receiver.PersonId, cancellationToken);
        if (theirs.Count == 0)
            return NoneOf(releases);
        var release = theirs[0].Release;
        if (await IsOutdoneAsync(release, cancellationToken))
            return new LetterOutcome.NotNeeded(T("Not sent: a newer version is there meanwhile."));
        var has = await (from v in db.PersonVersions
                         where v.PersonId == receiver.PersonId && v.LibraryId == release.LibraryId && v.NextReleaseId == 0
                         join r in db.Releases on v.ReleaseId equals r.Id
                         select r.Number).FirstOrDefaultAsync(cancellationToken);
        var words = await db.BehindLetters.Where(l => l.ReleaseId == releaseId).Select(l => l.Words).FirstOrDefaultAsync(cancellationToken);
        return has is null || words is null || ReleaseNumbers.ByPrecedence.Compare(has, release.Number) >= 0
            ? new LetterOutcome.NotNeeded(T("Not sent: they have it meanwhile."))
            : Written(VersionLetter.ToBehind(theirs[0], has, words, desk));
    }

    private async Task<LetterOutcome> FollowAsync(long releaseId, Receiver receiver, LetterDesk desk, CancellationToken cancellationToken)
    {
        var one = (await LetterRelease.LoadAsync(db, [releaseId], personId: null, cancellationToken)).FirstOrDefault(r => r.Release.State == ReleaseState.Published);
        if (one?.Release.Library.AudienceAt(clock.GetUtcNow()) is not { } audience)
            return Gone;
        // One mail about one thing: who follows what they also hold is told as its holder.
        if (receiver.PersonId is { } person && (await IsToldByDropAsync(releaseId, person, cancellationToken)
            || await db.Outbox.AnyAsync(m => m.PersonId == person && m.AboutId == releaseId && m.Cause.StartsWith("version:") && (m.GaveUpAt == null || m.Attempts > 0), cancellationToken)))
            return new LetterOutcome.NotNeeded(T("Not sent: they are told of it by another mail."));
        return Written(VersionLetter.ToFollower(one, audience == Audience.Members, desk));
    }

    private async Task<IReadOnlyList<LetterRelease>> MayHaveAsync(IReadOnlyList<LetterRelease> releases, long? personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var person = await PersonFacts.LoadAsync(db, personId, now, cancellationToken);
        return [.. releases.Where(r => r.Release.State == ReleaseState.Published && MayDownload.IsYes(person.MayHave(r.Release, r.Release.Library, now)))];
    }

    private static LetterOutcome NoneOf(IReadOnlyList<LetterRelease> releases) => releases.Any(r => r.Release.State == ReleaseState.Published) ? NotTheirs : Gone;

    private async Task<bool> IsOutdoneAsync(Release release, CancellationToken cancellationToken) =>
        (await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.State == ReleaseState.Published).Select(r => r.Number).ToListAsync(cancellationToken))
            .Exists(number => ReleaseNumbers.ByPrecedence.Compare(number, release.Number) > 0);

    private async Task<bool> IsToldByDropAsync(long releaseId, long? personId, CancellationToken cancellationToken)
    {
        var drops = await db.DropReleases.Where(r => r.ReleaseId == releaseId).Select(r => r.DropId).ToListAsync(cancellationToken);
        // Not where its letter was left out: who wants no drops' letters may still want to hear of what they have.
        // By whose it is today, not by its cause: of two accounts made one the cause names either.
        return drops.Count > 0 && await db.Outbox.AnyAsync(m => m.PersonId == personId && m.AboutId != null && drops.Contains(m.AboutId.Value) && m.Cause.StartsWith("drop:") && (m.GaveUpAt == null || m.Attempts > 0), cancellationToken);
    }

    private static LetterOutcome.Written Written((string Subject, string Text) letter) => new(letter.Subject, letter.Text);
}
