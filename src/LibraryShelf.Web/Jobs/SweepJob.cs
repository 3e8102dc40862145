using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Wakes whatever row state says is undone, ends uploads nobody went on with, rotates old link keys, and forgets old devices and wishes for another address; at start and each minute. Running it twice is
/// harmless: each job looks at its row before it works.
/// </summary>
public sealed class SweepJob(ShelfDb db, FindWaitingZips waitingZips, SweepUploads staleUploads, SweepLinkKeys linkKeys, SweepDevices devices, SweepAddressChanges addressChanges, FindUncounted uncounted, FindUncompared uncompared, FindUnweighed unweighed, FindMoneyDue moneyDue, FindDueDrops dueDrops, JobChain chain, TimeProvider clock)
{
    /// <summary>
    /// Pairs woken in one sweep. When all versions want comparing anew (a later program compares otherwise), a maker's sealing must not stand behind
    /// hundreds of them.
    /// </summary>
    private const int MostCompared = 20;

    public async Task RunAsync(CancellationToken cancellationToken)
    {
        await staleUploads.RunAsync(cancellationToken);
        await linkKeys.RunAsync(cancellationToken);
        await devices.RunAsync(cancellationToken);
        await addressChanges.RunAsync(cancellationToken);
        foreach (var id in await waitingZips.RunAsync(cancellationToken))
            chain.UnpackSoon(id);
        await foreach (var id in ChecksAsked().AsAsyncEnumerable().WithCancellation(cancellationToken))
            chain.CheckSoon(id);
        foreach (var (id, fromId) in (await uncompared.RunAsync(cancellationToken)).Take(MostCompared))
            chain.CompareSoon(id, fromId);
        await foreach (var id in SealsAsked().AsAsyncEnumerable().WithCancellation(cancellationToken))
            chain.SealSoon(id);
        await foreach (var id in DigestsMissing().AsAsyncEnumerable().WithCancellation(cancellationToken))
            chain.DigestSoon(id);
        foreach (var id in await unweighed.RunAsync(cancellationToken))
            chain.WeighSoon(id);
        foreach (var id in await dueDrops.RunAsync(cancellationToken))
            chain.DropSoon(id);
        await foreach (var id in TellingAsked().AsAsyncEnumerable().WithCancellation(cancellationToken))
            chain.TellSoon(id);
        if (await MailsDueAsync(cancellationToken))
            chain.MailSoon();
        if (await MessagesDueAsync(cancellationToken))
            chain.PaymentsSoon();
        if (await moneyDue.RunAsync(cancellationToken))
            chain.MoneySoon();
        if (await uncounted.RunAsync(cancellationToken))
            chain.CountSoon();
    }

    private IQueryable<long> ChecksAsked() => db.Releases.Where(r => r.CheckAskedAt != null && r.SealedAt == null).Select(r => r.Id);

    /// <summary>Sealed and still to be published, or to be set down for the drop it stands in, is not done yet.</summary>
    private IQueryable<long> SealsAsked() => db.Releases
        .Where(r => r.SealAskedAt != null || (r.State == ReleaseState.Sealed
            && ((r.PublishAfterSealFor != null && r.Trouble == null)
                || db.DropReleases.Any(d => d.ReleaseId == r.Id && db.Drops.Any(p => p.Id == d.DropId && p.State == DropState.Planned)))))
        .Select(r => r.Id);

    /// <summary>Reading an update or a month through takes as long as sending it, so that is done for those that somebody fetched.</summary>
    private IQueryable<long> DigestsMissing() => db.Archives.Where(a => a.Sha256 == null && a.Trouble == null)
        .Where(a => a.Kind == ArchiveKind.Full
            || (a.Kind == ArchiveKind.Update && db.Downloads.Any(d => d.ReleaseId == a.ReleaseId && d.FromReleaseId == a.FromReleaseId && d.StartedAt != null))
            || (a.Kind == ArchiveKind.Drop && db.Downloads.Any(d => d.DropId == a.DropId && d.StartedAt != null)))
        .Select(a => a.Id);

    private Task<bool> MessagesDueAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return db.PaymentEvents.AnyAsync(e => e.DoneAt == null && (e.NextTryAt == null || e.NextTryAt <= now), cancellationToken);
    }

    private IQueryable<long> TellingAsked() => db.Releases.Where(r => r.TellAskedAt != null).Select(r => r.Id);

    private Task<bool> MailsDueAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return db.Outbox.AnyAsync(m => m.SentAt == null && m.GaveUpAt == null && (m.NextTryAt == null || m.NextTryAt <= now), cancellationToken);
    }
}
