using Hangfire;
using LibraryShelf.Core.Letters.Weekly;

namespace LibraryShelf.Web.Jobs;

/// <summary>Writes the letter about the week that is over, and has it sent.</summary>
[Queue(JobQueues.Now)]
internal sealed class WeekJob(WriteWeekLetter write, JobChain chain)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        if (await write.RunAsync(cancellationToken))
            chain.MailSoon();
    }
}
