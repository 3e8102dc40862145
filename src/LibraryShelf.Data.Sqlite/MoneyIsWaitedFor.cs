using System.Data.Common;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Data.Sqlite;

/// <summary>
/// A transaction of a context that writes about money commits with synchronous=FULL: it is on the disk when the commit returns. The pragma
/// can't be said within a transaction, so it is said before each one, and to all of the pool's connections alike. Pages kept in memory stay with the
/// connection that was told to keep them.
/// </summary>
internal sealed class MoneyIsWaitedFor : DbTransactionInterceptor
{
    public static readonly MoneyIsWaitedFor Instance = new();

    /// <summary>32 MiB instead of 2, of one connection or two: with two, counting spends a quarter of its time on reading the same pages again.</summary>
    private const string WidePages = "; PRAGMA cache_size=-32768";

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
        command.CommandText = (db is { IsMoney: true } ? "PRAGMA synchronous=FULL" : "PRAGMA synchronous=NORMAL") + (db is { IsWide: true } ? WidePages : "");
        command.ExecuteNonQuery();
    }
}
