using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Comparing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Checks a draft whose maker asked for it, then wakes its comparison with the version before.</summary>
public sealed class CheckJob(CheckRelease check, FindUncompared uncompared, JobChain chain, CheckEnds ends, ILogger<CheckJob> log)
{
    /// <returns>Why it was stopped by no doing of the maker's, for her; null when all is well, or hers to do and said on the release.</returns>
    public async Task<string?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        CheckReleaseOutcome outcome;
        try
        {
            outcome = await check.RunAsync(releaseId, cancellationToken);
        }
        finally
        {
            ends.Say();
        }
        if (outcome is CheckReleaseOutcome.Checked)
            foreach (var (id, fromId) in await uncompared.RunAsync(cancellationToken, releaseId))
                chain.CompareSoon(id, fromId);
        if (outcome is not CheckReleaseOutcome.Stopped stopped)
            return null;
        log.LogWarning(stopped.Fault, "Release {Release} was not checked: {Reason}", releaseId, stopped.Reason);
        return stopped.Fault is null ? null : stopped.Reason;
    }
}
