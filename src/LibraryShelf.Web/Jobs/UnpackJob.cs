using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Unpacks an uploaded .zip into its draft, asks for the check, and removes the zip last: while its bytes lie there, the sweep
/// knows that a crash left something to do.
/// </summary>
public sealed class UnpackJob(UnpackZip unpack, AskForCheck ask, ClearUpload clear, JobChain chain)
{
    /// <returns>Why it waits by no doing of the maker's, for her; null when all is well, or said on the release.</returns>
    public async Task<string?> RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        var outcome = await unpack.RunAsync(uploadId, cancellationToken);
        if (outcome is UnpackOutcome.Waiting waiting)
            return waiting.Reason;
        if (outcome is UnpackOutcome.NotReady)
            return null;
        if (outcome is UnpackOutcome.Unpacked unpacked && await ask.RunAsync(unpacked.ReleaseId, cancellationToken) is AskForCheckOutcome.Asked)
            chain.CheckSoon(unpacked.ReleaseId);
        await clear.RunAsync(uploadId, cancellationToken);
        return null;
    }
}
