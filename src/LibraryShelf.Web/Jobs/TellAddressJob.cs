using Hangfire;
using LibraryShelf.Core.Payments;

namespace LibraryShelf.Web.Jobs;

/// <summary>Tells the payment provider an address that has just changed. When it is away, the daily look does it: nobody needs to hear of it.</summary>
[Queue(JobQueues.Now)]
internal sealed class TellAddressJob(TellNewAddress tell)
{
    public Task RunAsync(long personId, CancellationToken cancellationToken) => tell.RunAsync(personId, cancellationToken);
}
