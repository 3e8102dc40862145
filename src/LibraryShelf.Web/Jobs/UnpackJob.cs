using LibraryShelf.Core.Intake;

namespace LibraryShelf.Web.Jobs;

/// <summary>Unpacks an uploaded .zip into its draft, then removes the zip.</summary>
public sealed class UnpackJob(UnpackZip unpack, ClearUpload clear)
{
    public async Task RunAsync(string uploadId, CancellationToken cancellationToken)
    {
        if (await unpack.RunAsync(uploadId, cancellationToken) == UnpackOutcome.NotReady)
            return;
        await clear.RunAsync(uploadId, cancellationToken);
    }
}
