using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Unpacks an uploaded .zip into its draft, asks for the check, and removes the zip last: while its bytes lie there, the sweep
/// knows that a crash left something to do.
/// </summary>
public sealed class UnpackJob(UnpackZip unpack, AskForCheck ask, ClearUpload clear, JobChain chain)
{
    public async Task RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        var outcome = await unpack.RunAsync(uploadId, cancellationToken);
        if (outcome is UnpackOutcome.NotReady or UnpackOutcome.Waiting)
            return;
        if (outcome is UnpackOutcome.Unpacked unpacked && await ask.RunAsync(unpacked.ReleaseId, cancellationToken) is AskForCheckOutcome.Asked)
            chain.CheckSoon(unpacked.ReleaseId);
        await clear.RunAsync(uploadId, cancellationToken);
    }
}
