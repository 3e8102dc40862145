using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>
/// Writes the mails that a version's coming to the shelf, or its withdrawal, is the reason for. A few people at a time, each time in a
/// transaction of its own, so that thousands don't hold SQLite's writer; what a kill leaves undone the next run does, because
/// <see cref="Release.TellAskedAt"/> stands until the last is told. Each transaction decides by what it reads itself, so that a version
/// coming or going meanwhile is seen. What a backup holds half told is held with the mails: the shelf that was lost may have told the rest.
/// </summary>
public sealed class TellPeople(ShelfDb db, TimeProvider clock)
{
    /// <summary>How many are written to in one transaction; a hundred of 5,000 held the writer 60 ms at most on two busy cores.</summary>
    public const int AtATime = 50;

    /// <param name="releaseId">The version that came or went.</param>
    /// <param name="shelfAddress">For the mails where the release names no other; without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it between two transactions or within one; the next run goes on.</param>
    /// <returns>How many people were looked at; 0 when there was nothing to do.</returns>
    public async Task<int> RunAsync(long releaseId, string? shelfAddress, CancellationToken cancellationToken)
    {
        var (looked, round) = (0, new Round(0, 0));
        do
        {
            db.ChangeTracker.Clear();
            var before = round;
            round = await FreshEyes.LookAsync(db, () => WriteAsync(releaseId, before, shelfAddress, cancellationToken), FreshEyes.Never<Round>);
            looked += round.People;
        }
        while (!round.IsLast);
        return looked;
    }

    private async Task<Round> WriteAsync(long releaseId, Round before, string? shelfAddress, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.Include(r => r.Players).Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release?.TellAskedAt is not { } asked || await ShelfHold.IsHeldFromBeforeAsync(db, asked, cancellationToken))
            return new Round(0, 0);
        var desk = await MailDesk.OpenAsync(db, release.TellPlace ?? shelfAddress, clock.GetUtcNow(), cancellationToken);
        var round = release.State switch
        {
            ReleaseState.Published => await new PublishMails(db, release, desk).WriteAsync(before, cancellationToken),
            ReleaseState.Withdrawn => await new WithdrawnMails(db, release, desk).WriteAsync(before.After, cancellationToken),
            _ => new Round(0, 0),
        };
        if (round.IsLast)
            (release.TellAskedAt, release.TellPlace) = (null, null);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return round;
    }
}

/// <summary>What one transaction did. <paramref name="After"/>: those with a higher id are still to be looked at.</summary>
internal sealed record Round(int People, long After)
{
    /// <summary>Of those who are told for one reason, which reason: 0 is the first.</summary>
    public int Group { get; init; }

    public bool IsLast => People == 0;
}
