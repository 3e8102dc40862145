using LibraryShelf.Core.Data;
using LibraryShelf.Data.Postgres;
using LibraryShelf.Data.Sqlite;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests;

/// <summary>A database of this run without a table in it, as a new server or a new disk gives it.</summary>
internal sealed class EmptyDatabase : IAsyncDisposable
{
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("empty-");
    private readonly string? postgres = TestDatabase.IsPostgres ? TestServer.Create("TEMPLATE template0") : null;

    public ShelfDb Open() => postgres is null ? TestDatabase.OpenSqlite(Path.Combine(folder.FullName, "shelf.db")) : TestDatabase.OpenPostgres(postgres);

    /// <summary>As the host does at its start.</summary>
    public Task BringUpToDateAsync(ShelfDb db) => postgres is null
        ? SqliteSetup.BringUpToDateAsync(db, CancellationToken.None)
        : PostgresSetup.BringUpToDateAsync(db, CancellationToken.None);

    public ValueTask DisposeAsync()
    {
        // Pooled connections hold on to the database; only this one's pool is emptied.
        using (var db = Open())
        {
            if (postgres is null)
                SqliteConnection.ClearPool((SqliteConnection)db.Database.GetDbConnection());
            else
                Npgsql.NpgsqlConnection.ClearPool((Npgsql.NpgsqlConnection)db.Database.GetDbConnection());
        }
        if (postgres is not null)
            TestServer.Drop(postgres);
        folder.Delete(recursive: true);
        return ValueTask.CompletedTask;
    }
}
