using Hangfire;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>Writes the mails to those whom a version's coming or going concerns, and those of the maker's letter about it, then has them sent.</summary>
[Queue(JobQueues.Now)]
internal sealed class TellJob(TellPeople tell, WriteBehindLetters behind, PublicAddress address, JobChain chain)
{
    public async Task RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var told = await tell.RunAsync(releaseId, address.Set, cancellationToken);
        if (await behind.RunAsync(releaseId, cancellationToken) + told > 0)
            chain.MailSoon();
    }
}
