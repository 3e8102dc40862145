using System.Data.Common;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Data.Sqlite;

/// <summary>
/// A transaction of a context that writes about money commits with synchronous=FULL: it is on the disk when the commit returns. The pragma
/// can't be said within a transaction, so it is said before each one, and to all of the pool's connections alike.
/// </summary>
internal sealed class MoneyIsWaitedFor : DbTransactionInterceptor
{
    public static readonly MoneyIsWaitedFor Instance = new();

    public override InterceptionResult<DbTransaction> TransactionStarting(
        DbConnection connection, TransactionStartingEventData eventData, InterceptionResult<DbTransaction> result)
    {
        Say(connection, eventData.Context as ShelfDb);
        return result;
    }

    public override ValueTask<InterceptionResult<DbTransaction>> TransactionStartingAsync(
        DbConnection connection, TransactionStartingEventData eventData, InterceptionResult<DbTransaction> result, CancellationToken cancellationToken = default)
    {
        Say(connection, eventData.Context as ShelfDb);
        return ValueTask.FromResult(result);
    }

    private static void Say(DbConnection connection, ShelfDb? db)
    {
        using var command = connection.CreateCommand();
        command.CommandText = db is { IsMoney: true } ? "PRAGMA synchronous=FULL" : "PRAGMA synchronous=NORMAL";
        command.ExecuteNonQuery();
    }
}
