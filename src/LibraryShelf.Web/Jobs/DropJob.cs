using Hangfire;
using LibraryShelf.Core.Drops;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>Sends a month's drop that is due, unless it asks or the clock can't be trusted; then has people told and the mails sent.</summary>
[Queue(JobQueues.Now)]
internal sealed class DropJob(WatchClock watch, SendDrop send, PublicAddress address, JobChain chain, ILogger<DropJob> log)
{
    /// <returns>Why it did not go out though it was due, or that it asks, for the maker; null when all is well, or its time has not come.</returns>
    public async Task<string?> RunAsync(long dropId, CancellationToken cancellationToken)
    {
        await watch.RunAsync(cancellationToken);
        switch (await send.RunAsync(dropId, address.Set, cancellationToken))
        {
            case SendDropOutcome.Sent sent:
                log.LogInformation("Drop {Drop} went out, with {Mails} mails", dropId, sent.Mails);
                foreach (var release in sent.Published)
                    chain.TellSoon(release);
                chain.MailSoon();
                chain.ListenSoon();
                return null;
            case SendDropOutcome.NotWhole notWhole:
                return notWhole.Words;
            case SendDropOutcome.Asks asks:
                return asks.Words;
            default:
                return null;
        }
    }
}
