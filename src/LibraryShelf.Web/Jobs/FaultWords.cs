using System.Globalization;
using Hangfire.Common;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Jobs;

/// <summary>What a failed job was about, what is kept and what to do, in words for the maker. The fault itself stands in the log.</summary>
internal sealed class FaultWords(ShelfDb db)
{
    public async Task<string> OfAsync(Job job, CancellationToken cancellationToken)
    {
        var (what, kept) = job.Type.Name switch
        {
            nameof(CheckJob) => ($"The check of {await ReleaseAsync(job, cancellationToken)} broke off.", "Everything sent is kept, and what was measured."),
            nameof(CompareJob) => ($"The comparing of {await ReleaseAsync(job, cancellationToken)} with an earlier version broke off.", "Both are kept as they are."),
            nameof(SealJob) => ($"The sealing or publishing of {await ReleaseAsync(job, cancellationToken)} broke off.", "It is as it was before, or sealed already."),
            nameof(UnpackJob) => ($"The unpacking of {await ZipAsync(job, cancellationToken)} broke off.", "The zip is kept."),
            nameof(DigestJob) => ($"The reading through of {await ArchiveAsync(job, cancellationToken)} broke off.", "The archive is kept, and can be downloaded."),
            nameof(ListenJob) => ("The making of what can be heard on pages broke off.", "What was made is kept, and every version can be downloaded."),
            nameof(DropJob) => ($"The sending of {await DropAsync(job, cancellationToken)} broke off.", "Nothing of it is out, or all of it."),
            nameof(TellJob) => ($"The writing of mails about {await ReleaseAsync(job, cancellationToken)} broke off.", "Those written are kept, and nobody is told twice."),
            nameof(MailJob) => ("The sending of mails broke off.", "No mail is lost; those that wait are still in the outbox."),
            nameof(CountJob) => ("The counting of downloads broke off.", "Every download is kept and counted later."),
            nameof(PaymentsJob) => ("The following up of the payment provider's messages broke off.", "They are kept, and what members paid is not lost."),
            nameof(ReconcileJob) => ("The daily look at the payment provider broke off.", "Memberships stand as they were last told."),
            nameof(MoneyJob) => ("The telling of other prices, or the giving back for a month that slipped, broke off.", "What was decided is kept. Nobody is told twice, and nothing is paid back twice."),
            nameof(TellAddressJob) => ("Telling the payment provider somebody's new address broke off.", "The address has changed here, and the daily look tells it there."),
            nameof(ForgetJob) => ("The removing of what is kept no longer, such as deleted people's payments, broke off.", "What is left of it stays until it goes on."),
            nameof(BackupJob) => ("The making of a backup broke off.", "Earlier backups are kept as they were."),
            nameof(WeekJob) => ("The writing of the letter about last week broke off.", "The figures stand under Numbers."),
            nameof(KeepDeletionsJob) => ("Noting beside the backups who was deleted, or wants no mails, broke off.", "They are deleted and left alone, and it is noted with the next backup."),
            _ => ("The look for what is left undone broke off.", "What was begun is kept, but may stand still until it goes on."),
        };
        return $"{what} {kept} It is tried again by itself. If this stays, whoever runs the server finds the reason in the shelf's log under “{JobName.Of(job)}”.";
    }

    private async Task<string> ReleaseAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is long id && await db.Releases.Where(r => r.Id == id).Select(r => r.Library.Title + " " + r.Number)
            .FirstOrDefaultAsync(cancellationToken) is { } name ? name : "a release";

    private async Task<string> DropAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is long id && await db.Drops.FirstOrDefaultAsync(d => d.Id == id, cancellationToken) is { } drop
            ? $"the drop of {drop.Month.ToString("MMMM uuuu", CultureInfo.InvariantCulture)}" : "a drop";

    private async Task<string> ArchiveAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is long id && await db.Archives.Where(a => a.Id == id).Select(a => a.FileName)
            .FirstOrDefaultAsync(cancellationToken) is { } name ? name : "an archive";

    private async Task<string> ZipAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is string id && await db.Uploads.Where(u => u.Id == id)
            .Join(db.Releases, u => u.ReleaseId, r => r.Id, (u, r) => r.Library.Title + " " + r.Number)
            .FirstOrDefaultAsync(cancellationToken) is { } name ? $"the zip sent for {name}" : "a zip";
}
