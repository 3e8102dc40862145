using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Upkeep;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Each day, and at start: removes what was kept of deleted people's payments once its time is over, to whom old mails went, addresses that were asked
/// whether they follow and never said yes, and rows that are spent.
/// </summary>
public sealed class ForgetJob(SweepDeleted sweep, SweepMails mails, SweepFollowers followers, SweepSpent spent)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        await sweep.RunAsync(cancellationToken);
        await mails.RunAsync(cancellationToken);
        await followers.RunAsync(cancellationToken);
        await spent.RunAsync(cancellationToken);
    }
}
