namespace LibraryShelf.Web.Jobs;

/// <summary>Wakes whatever row state says is undone; at start and every few minutes.</summary>
public sealed class SweepJob
{
    public Task RunAsync(CancellationToken cancellationToken) =>
        Task.CompletedTask;
}
