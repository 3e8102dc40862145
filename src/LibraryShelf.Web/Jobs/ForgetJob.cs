using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Persons;

namespace LibraryShelf.Web.Jobs;

/// <summary>Each day, and at start: removes what was kept of deleted people's payments once its time is over, and to whom old mails went.</summary>
public sealed class ForgetJob(SweepDeleted sweep, SweepMails mails)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        await sweep.RunAsync(cancellationToken);
        await mails.RunAsync(cancellationToken);
    }
}
