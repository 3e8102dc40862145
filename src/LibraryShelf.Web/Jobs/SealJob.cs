using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>Seals a checked release whose maker asked for it, wakes its digest and the working out of its updates, then sets it down for the drop it stands in, or publishes it when asked, which wakes the making of what is to be heard of it.</summary>
internal sealed class SealJob(
    FindUncompared uncompared, CompareJob compare, SealRelease seal, ScheduleSealed schedule, PublishRelease publish, PublicAddress address, JobChain chain, ILogger<SealJob> log)
{
    /// <returns>Why it was stopped by no doing of the maker's, for her; null when all is well, or hers to do and said on the release.</returns>
    public async Task<string?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        // Sealing asks whether the number fits what changed, so that is worked out first when it is not yet. Where it can't be, it seals without.
        foreach (var (id, fromId) in await uncompared.RunAsync(cancellationToken, releaseId))
            await compare.RunAsync(id, fromId, cancellationToken);
        switch (await seal.RunAsync(releaseId, cancellationToken))
        {
            case SealReleaseOutcome.Sealed done:
                chain.DigestSoon(done.ArchiveId);
                chain.WeighSoon(releaseId);
                // It waits for its drop, which may have been waiting for it.
                if (await schedule.RunAsync(releaseId, cancellationToken) is { } dropId)
                {
                    chain.DropSoon(dropId);
                    return null;
                }
                // Damaged: the digest's own alert says so, and the release why it was not published; as it does when nothing was declared.
                if (done.PublishFor is { } audience
                    && await publish.RunAsync(releaseId, audience, declares: false, address.Set, cancellationToken) == PublishReleaseOutcome.Published)
                {
                    chain.TellSoon(releaseId);
                    chain.ListenSoon();
                }
                return null;
            case SealReleaseOutcome.Stopped stopped:
                log.LogWarning(stopped.Fault, "Release {Release} was not sealed: {Reason}", releaseId, stopped.Reason);
                return stopped.Fault is null ? null : stopped.Reason;
            case SealReleaseOutcome.PutOff putOff:
                log.LogWarning(putOff.Fault, "Release {Release} is not sealed yet: {Reason}", releaseId, putOff.Reason);
                return putOff.Reason;
            default:
                return null;
        }
    }
}
