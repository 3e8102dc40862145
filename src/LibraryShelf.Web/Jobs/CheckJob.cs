using LibraryShelf.Core.Checking;

namespace LibraryShelf.Web.Jobs;

/// <summary>Checks a draft whose maker asked for it.</summary>
public sealed class CheckJob(CheckRelease check, ILogger<CheckJob> log)
{
    public async Task RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        if (await check.RunAsync(releaseId, cancellationToken) is CheckReleaseOutcome.Stopped stopped)
            log.LogWarning(stopped.Fault, "Release {Release} was not checked: {Reason}", releaseId, stopped.Reason);
    }
}
