using Hangfire;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Letters.Weekly;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Wakes whatever row state says is undone; then ends uploads nobody went on with, rotates old link keys, forgets old devices and wishes for another address, throws away the key of a day's visitors, writes down what members pay a month, what was seen of visits and keyprints that older versions lack, and settles alerts about what is no more. At start and each minute. Running it twice is
/// harmless: each job looks at its row before it works. Each look stands by itself: one that fails is told of, and keeps none of the others from being done.
/// </summary>
[Queue(JobQueues.Now)]
internal sealed class SweepJob(ShelfDb db, FindWaitingZips waitingZips, SweepUploads staleUploads, SweepLinkKeys linkKeys, SweepDevices devices, SweepAddressChanges addressChanges, KeepSightings sightings, FindUncounted uncounted, FindDropsUncounted dropsUncounted, KeepIncome keepIncome, FindUncompared uncompared, FindUnweighed unweighed, FindUnheard unheard, KeepKeyprints keyprints, FindMoneyDue moneyDue, FindWeekDue weekDue, WatchClock watchClock, VisitorKeys visitorKeys, FindDueDrops dueDrops, FindUnkept unkept, FindBackupDue backupDue, GoneAlerts goneAlerts, JobChain chain, TimeProvider clock, ILogger<SweepJob> log)
{
    /// <summary>
    /// Pairs woken in one sweep. When all versions want comparing anew (a later program compares otherwise), a maker's sealing must not stand behind
    /// hundreds of them.
    /// </summary>
    private const int MostCompared = 20;

    /// <returns>What could not be cleared up, in words for the maker; null when all is well.</returns>
    /// <exception cref="AggregateException">Some looks failed; all others were taken.</exception>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        string? trouble = null;
        Func<CancellationToken, Task>[] clearing =
        [
            async t => trouble = (await staleUploads.RunAsync(t)).Trouble, linkKeys.RunAsync, devices.RunAsync, addressChanges.RunAsync, goneAlerts.RunAsync, sightings.RunAsync, keepIncome.RunAsync, keyprints.RunAsync,
        ];
        List<Exception> faults = [];
        foreach (var look in Wakings().Concat(clearing))
        {
            try
            {
                await look(cancellationToken);
            }
#pragma warning disable CA1031 // Whatever it is, the other looks are taken first; then it is thrown.
            catch (Exception fault) when (!cancellationToken.IsCancellationRequested)
#pragma warning restore CA1031
            {
                faults.Add(fault);
                db.ChangeTracker.Clear();
            }
        }
        if (trouble is not null)
            log.LogWarning("{Trouble}", trouble);
        return faults.Count == 0 ? trouble : throw new AggregateException(faults);
    }

    private IEnumerable<Func<CancellationToken, Task>> Wakings() =>
    [
        async t => Each(await waitingZips.RunAsync(t), chain.UnpackSoon),
        async t => Each(await ChecksAsked().ToListAsync(t), chain.CheckSoon),
        async t => Each((await uncompared.RunAsync(t)).Take(MostCompared), pair => chain.CompareSoon(pair.ReleaseId, pair.FromReleaseId)),
        async t => Each(await SealsAsked().ToListAsync(t), chain.SealSoon),
        async t => Each(await DigestsMissing(db).ToListAsync(t), chain.DigestSoon),
        async t => Each(await unweighed.RunAsync(t), chain.WeighSoon),
        async t => If((await unheard.RunAsync(t)).IsAny, chain.ListenSoon),
        _ => { visitorKeys.DropOld(); return Task.CompletedTask; },
        // Also while nothing is due, so that a jump is seen when something is.
        async t => await watchClock.RunAsync(t),
        async t => Each(await dueDrops.RunAsync(t), chain.DropSoon),
        async t => Each(await TellingAsked().ToListAsync(t), chain.TellSoon),
        async t => If(await MailsDueAsync(t), chain.MailSoon),
        async t => If(await MessagesDueAsync(t), chain.PaymentsSoon),
        async t => If(await moneyDue.RunAsync(t), chain.MoneySoon),
        async t => If(await weekDue.RunAsync(t), chain.WeekSoon),
        async t => If(await uncounted.RunAsync(t) || await dropsUncounted.RunAsync(t), chain.CountSoon),
        async t => If(await unkept.RunAsync(t), chain.KeepDeletionsSoon),
        async t => If(await backupDue.RunAsync(nameof(BackupJob), t), chain.BackupSoon),
    ];

    private static void Each<T>(IEnumerable<T> undone, Action<T> wake)
    {
        foreach (var one in undone)
            wake(one);
    }

    private static void If(bool isDue, Action wake)
    {
        if (isDue)
            wake();
    }

    private IQueryable<long> ChecksAsked() => db.Releases.Where(r => r.CheckAskedAt != null && r.SealedAt == null).Select(r => r.Id);

    /// <summary>Sealed and still to be published, or to be set down for the drop it stands in, is not done yet.</summary>
    private IQueryable<long> SealsAsked() => db.Releases
        .Where(r => r.SealAskedAt != null || (r.State == ReleaseState.Sealed
            && ((r.PublishAfterSealFor != null && r.Trouble == null)
                || db.DropReleases.Any(d => d.ReleaseId == r.Id && db.Drops.Any(p => p.Id == d.DropId && p.State == DropState.Planned)))))
        .Select(r => r.Id);

    /// <summary>
    /// Reading an update or a month through takes as long as sending it, so that is done for those that somebody fetched. That what they are of is set is said too: else
    /// those where nothing is set in both would be asked for as well, by going through all downloads.
    /// </summary>
    internal static IQueryable<long> DigestsMissing(ShelfDb db) => db.Archives.Where(a => a.Sha256 == null && a.ReadStoppedAt == null && (a.Trouble == null || a.ReadAskedAt != null))
        .Where(a => a.Kind == ArchiveKind.Full
            || (a.Kind == ArchiveKind.Update && db.Downloads.Any(d => d.ReleaseId == a.ReleaseId && d.FromReleaseId != null && d.FromReleaseId == a.FromReleaseId && d.StartedAt != null))
            || (a.Kind == ArchiveKind.Drop && db.Downloads.Any(d => d.DropId != null && d.DropId == a.DropId && d.StartedAt != null)))
        .Select(a => a.Id);

    private Task<bool> MessagesDueAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return db.PaymentEvents.AnyAsync(e => e.DoneAt == null && (e.NextTryAt == null || e.NextTryAt <= now), cancellationToken);
    }

    private IQueryable<long> TellingAsked() => db.Releases
        .Where(r => r.TellAskedAt != null && !db.Shops.Any(s => s.HeldSince > r.TellAskedAt)).Select(r => r.Id)
        .Union(db.BehindLetters.Where(l => l.DoneAt == null && !db.Shops.Any(s => s.HeldSince > l.AskedAt)).Select(l => l.ReleaseId));

    private Task<bool> MailsDueAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return db.Outbox.NotStopped(db).AnyAsync(m => m.SentAt == null && m.GaveUpAt == null && (m.NextTryAt == null || m.NextTryAt <= now), cancellationToken);
    }
}
