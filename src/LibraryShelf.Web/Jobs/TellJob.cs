using Hangfire;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>Writes the mails to those whom a version's coming or going concerns, then has them sent.</summary>
[Queue(JobQueues.Now)]
internal sealed class TellJob(TellPeople tell, PublicAddress address, JobChain chain)
{
    public async Task RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        if (await tell.RunAsync(releaseId, address.Set, cancellationToken) > 0)
            chain.MailSoon();
    }
}
