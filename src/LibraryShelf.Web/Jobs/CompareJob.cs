using LibraryShelf.Core.Comparing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Holds a version against another one. Who comes while the same two are being compared waits for that, and finds it done.</summary>
public sealed class CompareJob(CompareReleases compare, ComparisonTurns turns, ILogger<CompareJob> log)
{
    /// <returns>Why it was stopped, for the maker; null when all is well.</returns>
    public async Task<string?> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        using var turn = await turns.TakeAsync((releaseId, fromReleaseId), cancellationToken);
        switch (await compare.RunAsync(releaseId, fromReleaseId, cancellationToken))
        {
            case CompareReleasesOutcome.Stopped stopped:
                log.LogWarning(stopped.Fault, "Release {Release} was not compared: {Reason}", releaseId, stopped.Reason);
                return stopped.Reason;
            case CompareReleasesOutcome.PutOff putOff:
                log.LogWarning(putOff.Fault, "Release {Release} is not compared yet: {Reason}", releaseId, putOff.Reason);
                return putOff.Reason;
            default:
                return null;
        }
    }
}
