namespace LibraryShelf.Web.Jobs;

/// <summary>Sends what stands in the outbox.</summary>
public sealed class MailJob
{
    public Task RunAsync(CancellationToken cancellationToken) =>
        Task.CompletedTask;
}
