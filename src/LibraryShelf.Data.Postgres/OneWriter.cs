using System.Data.Common;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Data.Postgres;

/// <summary>
/// Every transaction begins by waiting for the database's one writing lock, and has it until it ends. The steps read, decide
/// and write in one transaction and rely on nobody writing in between, which SQLite grants by BEGIN IMMEDIATE; READ COMMITTED
/// alone would not. It also makes rows with growing ids (download events) appear in the order of their ids, and leaves no
/// two writers to lock each other out. Readers never wait. A wait longer than the connection's command timeout (30 s unless the
/// connection string says otherwise, as SQLite's busy timeout) is a fault.
/// </summary>
internal sealed class OneWriter : DbTransactionInterceptor
{
    public static readonly OneWriter Instance = new();

    /// <summary>Released by the end of the transaction, however it ends. The number is ours alone within this database: "shelf" in ASCII.</summary>
    internal const string Wait = "SELECT pg_advisory_xact_lock(495672716390)";

    /// <summary>A program whose machine vanished must not hold the lock until the network notices; ours last under 250 ms, those that count downloads and versions aim at 400 ms.</summary>
    private const string LetGo = "SET LOCAL idle_in_transaction_session_timeout = '60s'; ";

    /// <summary>
    /// Thousands of rows are found by their keys, all over tables that are read again with the next thousands: each key through its index, a few times as quick as all
    /// of a table by several programs at once, which is what the server does unless told that pages read here and there cost little more than pages in a row
    /// (https://www.postgresql.org/docs/current/runtime-config-query.html#GUC-RANDOM-PAGE-COST).
    /// </summary>
    private const string ByKeys = "SET LOCAL random_page_cost = 1.1; SET LOCAL max_parallel_workers_per_gather = 0; SET LOCAL jit = off; ";

    public override DbTransaction TransactionStarted(DbConnection connection, TransactionEndEventData eventData, DbTransaction result)
    {
        using var command = Command(connection, result, eventData.Context as ShelfDb);
        command.ExecuteNonQuery();
        return result;
    }

    public override async ValueTask<DbTransaction> TransactionStartedAsync(
        DbConnection connection, TransactionEndEventData eventData, DbTransaction result, CancellationToken cancellationToken = default)
    {
        await using var command = Command(connection, result, eventData.Context as ShelfDb);
        await command.ExecuteNonQueryAsync(cancellationToken);
        return result;
    }

    private static DbCommand Command(DbConnection connection, DbTransaction transaction, ShelfDb? db)
    {
        var command = connection.CreateCommand();
        command.Transaction = transaction;
#pragma warning disable CA2100 // The statements are this class's own.
        command.CommandText = LetGo + (db is { IsWide: true } ? ByKeys : "") + Wait;
#pragma warning restore CA2100
        return command;
    }
}
