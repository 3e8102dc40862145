using Hangfire;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// The whole chain of steps in one place: who wakes which job. Wake-ups are only hints; each job takes one id, reads the row,
/// does nothing when its work is done, and <see cref="SweepJob"/> finds what a crash left standing.
/// upload finished → unpack (a .zip) → check → compare with the version before; seal → digest, updates worked out; seal and publish → publish, or wait for the drop; drop due → sent; published or withdrawn → tell → send, excerpts made of what the page plays; mail written → send;
/// message of the payment provider → look again → mails; address changed → mails, tell the payment provider; deleted, mails stopped → noted beside the backups; a night without a backup → backup; another price, a month that slipped → told, then the provider; a week over → its letter → send; bytes served → count.
/// </summary>
public sealed class JobChain(IBackgroundJobClient jobs)
{
    public void UnpackSoon(string uploadId) => jobs.Enqueue<UnpackJob>(job => job.RunAsync(uploadId, CancellationToken.None));

    public void CheckSoon(long releaseId) => jobs.Enqueue<CheckJob>(job => job.RunAsync(releaseId, CancellationToken.None));

    public void CompareSoon(long releaseId, long fromReleaseId) =>
        jobs.Enqueue<CompareJob>(job => job.RunAsync(releaseId, fromReleaseId, CancellationToken.None));

    public void SealSoon(long releaseId) => jobs.Enqueue<SealJob>(job => job.RunAsync(releaseId, CancellationToken.None));

    public void DigestSoon(long archiveId) => jobs.Enqueue<DigestJob>(job => job.RunAsync(archiveId, CancellationToken.None));

    public void WeighSoon(long releaseId) => jobs.Enqueue<WeighJob>(job => job.RunAsync(releaseId, CancellationToken.None));

    public void ListenSoon() => jobs.Enqueue<ListenJob>(job => job.RunAsync(CancellationToken.None));

    public void PaymentsSoon() => jobs.Enqueue<PaymentsJob>(job => job.RunAsync(CancellationToken.None));

    public void MoneySoon() => jobs.Enqueue<MoneyJob>(job => job.RunAsync(CancellationToken.None));

    public void TellAddressSoon(long personId) => jobs.Enqueue<TellAddressJob>(job => job.RunAsync(personId, CancellationToken.None));

    public void DropSoon(long dropId) => jobs.Enqueue<DropJob>(job => job.RunAsync(dropId, CancellationToken.None));

    public void KeepDeletionsSoon() => jobs.Enqueue<KeepDeletionsJob>(job => job.RunAsync(CancellationToken.None));

    public void BackupSoon() => jobs.Enqueue<BackupJob>(job => job.RunAsync(CancellationToken.None));

    public void TellSoon(long releaseId) => jobs.Enqueue<TellJob>(job => job.RunAsync(releaseId, CancellationToken.None));

    public void MailSoon() => jobs.Enqueue<MailJob>(job => job.RunAsync(CancellationToken.None));

    public void WeekSoon() => jobs.Enqueue<WeekJob>(job => job.RunAsync(CancellationToken.None));

    public void SweepSoon() => jobs.Enqueue<SweepJob>(job => job.RunAsync(CancellationToken.None));

    public void CountSoon() => jobs.Enqueue<CountJob>(job => job.RunAsync(CancellationToken.None));
}
