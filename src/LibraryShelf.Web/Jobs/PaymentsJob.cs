using Hangfire;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>Follows up the payment provider's messages, and wakes the mails that come of it.</summary>
[Queue(JobQueues.Now)]
internal sealed class PaymentsJob(HandleMessages handle, PublicAddress address, JobChain chain)
{
    /// <returns>Why something could not be followed up, for the maker.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        try
        {
            return await handle.RunAsync(address.Set, cancellationToken);
        }
        finally
        {
            chain.MailSoon();
        }
    }
}
