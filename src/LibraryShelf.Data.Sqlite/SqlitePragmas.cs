using System.Data.Common;
using System.Runtime.CompilerServices;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Data.Sqlite;

/// <summary>
/// journal_mode=WAL lets readers go on while one writes; synchronous=NORMAL is safe against a killed process (a power cut may
/// lose the last commits, never the database: https://www.sqlite.org/pragma.html#pragma_synchronous). They are said once to
/// each connection of the pool, which keeps them: a request opens and closes its connection a dozen times.
/// </summary>
internal sealed class SqlitePragmas : DbConnectionInterceptor
{
    public static readonly SqlitePragmas Instance = new();
    private const string Pragmas = "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA busy_timeout=30000;";

    private static readonly ConditionalWeakTable<object, object> Told = [];

    public override void ConnectionOpened(DbConnection connection, ConnectionEndEventData eventData) => Tell(connection);

    public override Task ConnectionOpenedAsync(
        DbConnection connection, ConnectionEndEventData eventData, CancellationToken cancellationToken = default)
    {
        // SQLite's commands are never asynchronous.
        Tell(connection);
        return Task.CompletedTask;
    }

    private static void Tell(DbConnection connection)
    {
        var handle = ((SqliteConnection)connection).Handle ?? throw new InvalidOperationException("The connection is not open.");
        if (Told.TryGetValue(handle, out _))
            return;
        using var command = connection.CreateCommand();
        command.CommandText = Pragmas;
        command.ExecuteNonQuery();
        Told.AddOrUpdate(handle, handle);
    }
}
