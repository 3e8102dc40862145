using LibraryShelf.Core.Checking;

namespace LibraryShelf.Web.Jobs;

/// <summary>Checks a draft whose maker asked for it.</summary>
public sealed class CheckJob(CheckRelease check, ILogger<CheckJob> log)
{
    /// <returns>Why it was stopped by no doing of the maker's, for her; null when all is well, or hers to do and said on the release.</returns>
    public async Task<string?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        if (await check.RunAsync(releaseId, cancellationToken) is not CheckReleaseOutcome.Stopped stopped)
            return null;
        log.LogWarning(stopped.Fault, "Release {Release} was not checked: {Reason}", releaseId, stopped.Reason);
        return stopped.Fault is null ? null : stopped.Reason;
    }
}
