using Hangfire.Common;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Jobs;

/// <summary>What a failed job was about, what is kept and what to do, in words for the maker. The fault itself stands in the log.</summary>
internal sealed class FaultWords(ShelfDb db)
{
    public async Task<string> OfAsync(Job job, CancellationToken cancellationToken)
    {
        var (what, kept) = job.Type.Name switch
        {
            nameof(CheckJob) => (T($"The check of {await ReleaseAsync(job, cancellationToken)} broke off."), T("Everything sent is kept, and what was measured.")),
            nameof(CompareJob) => (T($"The comparing of {await ReleaseAsync(job, cancellationToken)} with an earlier version broke off."), T("Both are kept as they are.")),
            nameof(SealJob) => (T($"The sealing or publishing of {await ReleaseAsync(job, cancellationToken)} broke off."), T("It is as it was before, or sealed already.")),
            nameof(UnpackJob) => (T($"The unpacking of {await ZipAsync(job, cancellationToken)} broke off."), T("The zip is kept.")),
            nameof(DigestJob) => (T($"The reading through of {await ArchiveAsync(job, cancellationToken)} broke off."), T("The archive is kept, and can be downloaded.")),
            nameof(ListenJob) => (T("The making of what can be heard on pages broke off."), T("What was made is kept, and every version can be downloaded.")),
            nameof(DropJob) => (T($"The sending of {await DropAsync(job, cancellationToken)} broke off."), T("Nothing of it is out, or all of it.")),
            nameof(TellJob) => (T($"The writing of mails about {await ReleaseAsync(job, cancellationToken)} broke off."), T("Those written are kept, and nobody is told twice.")),
            nameof(MailJob) => (T("The sending of mails broke off."), T("No mail is lost; those that wait are still in the outbox.")),
            nameof(CountJob) => (T("The counting of downloads broke off."), T("Every download is kept and counted later.")),
            nameof(PaymentsJob) => (T("The following up of the payment provider’s messages broke off."), T("They are kept, and what members paid is not lost.")),
            nameof(ReconcileJob) => (T("The daily look at the payment provider broke off."), T("Memberships stand as they were last told.")),
            nameof(MoneyJob) => (T("The telling of other prices, or the giving back for a month that slipped, broke off."), T("What was decided is kept. Nobody is told twice, and nothing is paid back twice.")),
            nameof(TellAddressJob) => (T("Telling the payment provider somebody’s new address broke off."), T("The address has changed here, and the daily look tells it there.")),
            nameof(ForgetJob) => (T("The removing of what is kept no longer, such as deleted people’s payments, broke off."), T("What is left of it stays until it goes on.")),
            nameof(BackupJob) => (T("The making of a backup broke off."), T("Earlier backups are kept as they were.")),
            nameof(WeekJob) => (T("The writing of the letter about last week broke off."), T("The figures stand under Numbers.")),
            nameof(KeepDeletionsJob) => (T("Noting beside the backups who was deleted, or wants no mails, broke off."), T("They are deleted and left alone, and it is noted with the next backup.")),
            _ => (T("The look for what is left undone broke off."), T("What was begun is kept, but may stand still until it goes on.")),
        };
        return T($"{what} {kept} It is tried again by itself. If this stays, whoever runs the server finds the reason in the shelf’s log under “{JobName.Of(job)}”.");
    }

    private async Task<string> ReleaseAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is long id && await db.Releases.Where(r => r.Id == id).Select(r => r.Library.Title + " " + r.Number)
            .FirstOrDefaultAsync(cancellationToken) is { } name ? name : T("a version");

    private async Task<string> DropAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is long id && await db.Drops.FirstOrDefaultAsync(d => d.Id == id, cancellationToken) is { } drop
            ? T($"the drop of {DropWhen.Name(drop.Month)}") : T("a drop");

    private async Task<string> ArchiveAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is long id && await db.Archives.Where(a => a.Id == id).Select(a => a.FileName)
            .FirstOrDefaultAsync(cancellationToken) is { } name ? name : T("an archive");

    private async Task<string> ZipAsync(Job job, CancellationToken cancellationToken) =>
        job.Args[0] is string id && await db.Uploads.Where(u => u.Id == id)
            .Join(db.Releases, u => u.ReleaseId, r => r.Id, (u, r) => r.Library.Title + " " + r.Number)
            .FirstOrDefaultAsync(cancellationToken) is { } name ? T($"the zip sent for {name}") : T("a zip");
}
