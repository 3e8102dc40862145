using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Seals a checked release whose maker asked for it, wakes its digest, then publishes it when asked.</summary>
public sealed class SealJob(SealRelease seal, PublishRelease publish, JobChain chain, ILogger<SealJob> log)
{
    public async Task RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        switch (await seal.RunAsync(releaseId, cancellationToken))
        {
            case SealReleaseOutcome.Sealed done:
                chain.DigestSoon(done.ArchiveId);
                if (done.PublishFor is { } audience)
                    await publish.RunAsync(releaseId, audience, cancellationToken);
                break;
            case SealReleaseOutcome.Stopped stopped:
                log.LogWarning("Release {Release} was not sealed: {Reason}", releaseId, stopped.Reason);
                break;
        }
    }
}
