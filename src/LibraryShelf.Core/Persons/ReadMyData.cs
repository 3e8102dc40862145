using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>Everything the shelf keeps about a person, for that person to see and to take along. docs/privacy.md says how long.</summary>
public sealed class ReadMyData(ShelfDb db, TimeProvider clock)
{
    /// <returns>Null when there is no such person, or they were deleted.</returns>
    public async Task<MyData?> RunAsync(long personId, CancellationToken cancellationToken)
    {
        if (await PersonRows.FindAsync(db, personId, cancellationToken) is not { } rows)
            return null;
        var (person, shelf, money) = (new MyPersonTables(db, rows), new MyShelfTables(db, rows), new MyMoneyTables(db, rows));
        return new(rows.Person.Email ?? "", clock.GetUtcNow(),
        [
            person.You(),
            await person.AddressChangesAsync(cancellationToken),
            await person.SignInsAsync(cancellationToken),
            await person.PasskeysAsync(cancellationToken),
            await person.DevicesAsync(cancellationToken),
            await person.MailsAsync(cancellationToken),
            await person.RefusalsAsync(cancellationToken),
            await person.SuppressionsAsync(cancellationToken),
            await person.FollowedAsync(cancellationToken),
            await shelf.GrantsAsync(cancellationToken),
            await shelf.ImportsAsync(cancellationToken),
            await shelf.EarlyVersionsAsync(cancellationToken),
            await shelf.DownloadsAsync(cancellationToken),
            await shelf.VersionsAsync(cancellationToken),
            await shelf.FirstsAsync(cancellationToken),
            await shelf.FaultsAsync(cancellationToken),
            await shelf.WithdrawalsAsync(cancellationToken),
            await money.JoiningsAsync(cancellationToken),
            await money.MembershipsAsync(cancellationToken),
            await money.PaymentsAsync(cancellationToken),
            await money.FailedRenewalsAsync(cancellationToken),
            await money.MonthsAsync(cancellationToken),
            await money.CreditsAsync(cancellationToken),
            await money.PricesAsync(cancellationToken),
        ]);
    }
}
