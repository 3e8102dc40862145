using Hangfire;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Letters;
using LibraryShelf.Web.Setup.Metering;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Sends what stands in the outbox. What could not be sent waits for the sweep after its next try is due; what was given up, the maker
/// hears of.
/// </summary>
[Queue(JobQueues.Now)]
internal sealed class MailJob(SendOutbox send, WatchOutbox watch, ShelfMeter meter)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        meter.Mailed(await send.RunAsync(cancellationToken));
        await watch.RunAsync(cancellationToken);
    }
}
