using Hangfire;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Looks each minute after what the maker has to know, and writes the mails about it. Apart from the sweep, so that a fault there does
/// not keep her from hearing of it.
/// </summary>
[Queue(JobQueues.Now)]
internal sealed class WatchJob(WatchDisk disk, WatchOutbox outbox, WatchBackups backups, MailAlerts mail, PublicAddress address, JobChain chain)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        try
        {
            await disk.RunAsync(cancellationToken);
            await outbox.RunAsync(cancellationToken);
            await backups.RunAsync(cancellationToken);
        }
        finally
        {
            // A fault in looking must not keep what stands already, or that fault, from being mailed.
            if (await mail.RunAsync(address.Set, cancellationToken) > 0)
                chain.MailSoon();
        }
    }
}
