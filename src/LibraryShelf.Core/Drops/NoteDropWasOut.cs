using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// After a restore, the maker says that a drop that is planned here had gone out from the shelf that was lost: its versions come to the shelf and the month's
/// rights exist, as they did there, and nobody is written to again. Only while the shelf is held: afterwards nothing tells a drop that was lost from one that is late.
/// </summary>
public sealed class NoteDropWasOut(ShelfDb db, TimeProvider clock)
{
    /// <param name="month">Whose it is.</param>
    /// <param name="revision">The <see cref="Drop.Revision"/> that was looked at.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<DropOutcome> RunAsync(YearMonth month, int revision, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<DropOutcome>(db, () => NoteAsync(month, revision, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> NoteAsync(YearMonth month, int revision, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop is null)
            return new DropOutcome.Missing();
        if (drop.State == DropState.Sent)
            return new DropOutcome.Done(null);
        if (drop.State == DropState.Cancelled)
            return new DropOutcome.Refused("", T("This drop was called off. Plan it anew first."));
        if (!await ShelfHold.IsHeldAsync(db, cancellationToken))
            return new DropOutcome.Refused("", T("This can be said only while a shelf that was restored from a backup is held, and this one is not. Nothing was changed. Send the drop, or call it off."));
        if (drop.Revision != revision)
            return new DropOutcome.ChangedMeanwhile();
        var (published, lacks) = await BringDropOut.RunAsync(db, drop, shelfAddress: null, await WentOutAsync(drop, now, cancellationToken), now, cancellationToken);
        if (lacks.Count > 0)
        {
            db.ChangeTracker.Clear();
            return new DropOutcome.Refused("", T($"It is not whole here: {string.Join(' ', lacks)} Mend that first, so that the shelf has what its members had."));
        }
        // Nor is anybody told of its versions.
        foreach (var release in db.Releases.Local.Where(r => published.Contains(r.Id)))
            release.TellAskedAt = null;
        await db.SaveChangesAsync(cancellationToken);
        // However long ago it was: whoever came to one of its boxes since had that one out before them.
        await OutBefore.MarkAsync(db, db.Releases.Where(r => EF.Parameter(published).Contains(r.Id)), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new DropOutcome.Done(null);
    }

    /// <summary>
    /// At its hour, as far as anybody knows here, so that who left since keeps what was there when they left. Not before a version of it was sealed: one may
    /// have been sent again since the restore.
    /// </summary>
    private async Task<DateTimeOffset> WentOutAsync(Drop drop, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var sealedAt = await db.DropReleases.Where(r => r.DropId == drop.Id).Join(db.Releases, r => r.ReleaseId, r => r.Id, (_, r) => r.SealedAt).ToListAsync(cancellationToken);
        return drop.DueAt <= now && sealedAt.TrueForAll(at => at <= drop.DueAt) ? drop.DueAt : now;
    }
}
