using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>
/// Writes the mails of the maker's letter to those left behind, without text: that is composed when each is sent. A few people at a time, each time in a
/// transaction of its own; what a kill leaves undone the next run does, from where the letter's row stands. What a backup holds half written is held with the mails.
/// </summary>
public sealed class WriteBehindLetters(ShelfDb db, TimeProvider clock)
{
    internal int AtATime { get; init; } = 50;

    /// <param name="releaseId">The version it is about; one without a letter, or with one that is done, is no matter.</param>
    /// <param name="cancellationToken">Ends it between two transactions or within one.</param>
    /// <returns>How many mails were written.</returns>
    public async Task<int> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        for (var written = 0; ;)
        {
            db.ChangeTracker.Clear();
            if (await SomeAsync(releaseId, cancellationToken) is not { } some)
                return written;
            written += some;
        }
    }

    /// <returns>Null: there is nothing to do.</returns>
    private async Task<int?> SomeAsync(long releaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var letter = await db.BehindLetters.SingleOrDefaultAsync(l => l.ReleaseId == releaseId, cancellationToken);
        if (letter is null || letter.DoneAt is not null || await ShelfHold.IsHeldFromBeforeAsync(db, letter.AskedAt, cancellationToken))
            return null;
        var desk = await MailDesk.OpenAsync(db, address: null, clock.GetUtcNow(), cancellationToken);
        // Withdrawn, or outdone by a newer one: what is not written is not written any more.
        var written = await BehindReceivers.LatestAsync(db, releaseId, cancellationToken) is { } release ? await WriteAsync(letter, release, desk, cancellationToken) : null;
        if (written is null)
            (letter.DoneAt, letter.AfterReleaseId, letter.AfterPersonId) = (desk.Now, 0, 0);
        letter.Written += written ?? 0;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return written ?? 0;
    }

    /// <summary>The next few people of the version the letter has come to, or of the next one.</summary>
    /// <returns>Null: nobody is left.</returns>
    private async Task<int?> WriteAsync(BehindLetter letter, Release release, MailDesk desk, CancellationToken cancellationToken)
    {
        var receivers = new BehindReceivers(db, release, desk.Now);
        foreach (var (lower, number) in await receivers.LowerAsync(cancellationToken))
        {
            if (lower < letter.AfterReleaseId)
                continue;
            var after = lower == letter.AfterReleaseId ? letter.AfterPersonId : 0;
            var people = await receivers.Wanting(lower).Where(p => p > after).Take(AtATime).ToListAsync(cancellationToken);
            if (people.Count == 0)
                continue;
            var entitled = await receivers.EntitledAsync(people, number, cancellationToken);
            await desk.WriteAsync([.. entitled.Select(p => WrittenMail.Later(BehindReceivers.CauseOf(release.Id, p), release.Id, p))], cancellationToken);
            (letter.AfterReleaseId, letter.AfterPersonId) = (lower, people[^1]);
            return entitled.Count;
        }
        return null;
    }
}
