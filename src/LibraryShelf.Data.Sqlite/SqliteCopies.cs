using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Upkeep;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Data.Sqlite;

/// <summary>
/// Copies by SQLite's online backup (https://www.sqlite.org/backup.html): one state, in one go, from a reader that holds up no writer (WAL).
/// </summary>
/// <param name="paths">Where the shelf's own database lies.</param>
/// <param name="services">The host's: the accounts' tables depend on its options.</param>
public sealed class SqliteCopies(DataPaths paths, IServiceProvider services) : IDatabaseCopies
{
    private const long Skipped = 1_000_000;

    public string FileName => "shelf.db";

    public bool IsDatabase => true;

    // SQLite's calls are never asynchronous; a large database takes seconds.
    public Task<string?> CopyAsync(string file, CancellationToken cancellationToken) => Task.Run(() => Copy(file), cancellationToken);

    public async Task<ShelfDb?> OpenAsync(string file, CancellationToken cancellationToken)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.UseAlone(options, file);
        var db = new ShelfDb(options.UseApplicationServiceProvider(services).Options);
        await SqliteSetup.BringUpToDateAsync(db, cancellationToken);
        return db;
    }

    /// <summary>https://www.sqlite.org/autoinc.html: the table of sequences may be written to; it has no row of a table that never had one.</summary>
    public async Task SkipNumbersAsync(ShelfDb restored, string table, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(restored);
        if (await restored.Database.ExecuteSqlAsync($"UPDATE sqlite_sequence SET seq = seq + {Skipped} WHERE name = {table}", cancellationToken) == 0)
            await restored.Database.ExecuteSqlAsync($"INSERT INTO sqlite_sequence (name, seq) VALUES ({table}, {Skipped})", cancellationToken);
    }

    private string? Copy(string file)
    {
        using var from = Open(paths.Database, SqliteOpenMode.ReadOnly);
        using var to = Open(file, SqliteOpenMode.ReadWriteCreate);
        from.BackupDatabase(to);
        using var command = to.CreateCommand();
        // One file by itself, with nothing beside it, until it is a shelf's again.
        command.CommandText = "PRAGMA journal_mode=DELETE";
        command.ExecuteNonQuery();
        command.CommandText = "PRAGMA quick_check(1)";
        var said = command.ExecuteScalar() as string;
        return said == "ok" ? null
            : T($"the copy of the database is damaged ({said}), so the shelf’s own may be. Have whoever runs the server look at its disk, and keep the last backups.");
    }

    private static SqliteConnection Open(string file, SqliteOpenMode mode)
    {
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = file, Mode = mode, Pooling = false, DefaultTimeout = 30 }.ToString());
        connection.Open();
        return connection;
    }
}
