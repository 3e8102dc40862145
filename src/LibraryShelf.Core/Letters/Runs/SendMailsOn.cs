using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters.Runs;

/// <summary>Lets mails that the maker stopped go: wake the sending of mails. What is not needed any more by now is left out when its turn comes.</summary>
public sealed class SendMailsOn(ShelfDb db)
{
    /// <returns>How they stood when they were let go; null: they were not stopped, and nothing was changed.</returns>
    public async Task<MailsGone?> RunAsync(MailRun run, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var gone = await MailRuns.GoneAsync(db, run, cancellationToken);
        var begins = run.Begins;
        if (await db.MailHolds.Where(h => begins.Contains(h.Begins)).ExecuteDeleteAsync(cancellationToken) == 0)
            return null;
        await transaction.CommitAsync(cancellationToken);
        return gone;
    }
}
