using LibraryShelf.Core.Mail;

namespace LibraryShelf.Web.Jobs;

/// <summary>Sends what stands in the outbox. What could not be sent waits for the sweep after its next try is due.</summary>
public sealed class MailJob(SendOutbox send)
{
    public Task RunAsync(CancellationToken cancellationToken) => send.RunAsync(cancellationToken);
}
