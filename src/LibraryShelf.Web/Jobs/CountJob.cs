namespace LibraryShelf.Web.Jobs;

/// <summary>Adds up download events.</summary>
public sealed class CountJob
{
    public Task RunAsync(CancellationToken cancellationToken) =>
        Task.CompletedTask;
}
