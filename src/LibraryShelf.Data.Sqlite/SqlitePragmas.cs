using System.Data.Common;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Data.Sqlite;

/// <summary>
/// journal_mode=WAL lets readers go on while one writes; synchronous=NORMAL is safe against a killed process (a power cut may
/// lose the last commits, never the database: https://www.sqlite.org/pragma.html#pragma_synchronous).
/// </summary>
internal sealed class SqlitePragmas : DbConnectionInterceptor
{
    public static readonly SqlitePragmas Instance = new();
    private const string Pragmas = "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA busy_timeout=30000;";

    public override void ConnectionOpened(DbConnection connection, ConnectionEndEventData eventData)
    {
        using var command = connection.CreateCommand();
        command.CommandText = Pragmas;
        command.ExecuteNonQuery();
    }

    public override async Task ConnectionOpenedAsync(
        DbConnection connection, ConnectionEndEventData eventData, CancellationToken cancellationToken = default)
    {
        await using var command = connection.CreateCommand();
        command.CommandText = Pragmas;
        await command.ExecuteNonQueryAsync(cancellationToken);
    }
}
