using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>The maker says that a mailbox is well again: it is written to as before. What was left out meanwhile stays left out.</summary>
public sealed class LiftSuppression(ShelfDb db)
{
    /// <returns>False: it was lifted before.</returns>
    public async Task<bool> RunAsync(long id, CancellationToken cancellationToken) =>
        await db.MailSuppressions.Where(s => s.Id == id).ExecuteDeleteAsync(cancellationToken) > 0;
}
