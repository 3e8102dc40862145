using LibraryShelf.Core.Data;
using LibraryShelf.Data.Postgres;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.Identity;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Core.Tests;

/// <summary>
/// A database of one test's own: a SQLite file, or, where the run says SHELF_TEST_DATABASE=postgres, one on the PostgreSQL server
/// of <see cref="TestServer"/>. The tables are there before the first use, without a row.
/// </summary>
public sealed class TestDatabase : IDisposable
{
    private static readonly IServiceProvider Version3 = new ServiceCollection()
        .Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3).BuildServiceProvider();

    private static readonly Lazy<byte[]> SqliteTemplate = new(MakeSqliteTemplate);

    private readonly string _sqliteFile;
    private readonly string? _postgres;

    /// <param name="sqliteFile">Where the file lies when the run is on SQLite; its folder exists.</param>
    public TestDatabase(string sqliteFile)
    {
        _sqliteFile = sqliteFile;
        _postgres = IsPostgres ? TestServer.Take() : null;
    }

    public static bool IsPostgres => Environment.GetEnvironmentVariable("SHELF_TEST_DATABASE") == "postgres";

    /// <summary>The settings that lead the host to this database.</summary>
    public IEnumerable<(string Name, string Value)> Settings => _postgres is null
        ? [("Shelf:Database:Provider", "sqlite")]
        : [("Shelf:Database:Provider", "postgres"), ("Shelf:Database:Connection", _postgres)];

    /// <summary>A context of its own, as each request and job gets one; <paramref name="watch"/> looks on at its use.</summary>
    public ShelfDb Open(IInterceptor? watch = null)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        if (_postgres is null) SqliteSetup.Use(options, _sqliteFile);
        else PostgresSetup.Use(options, _postgres);
        if (watch is not null) options.AddInterceptors(watch);
        return new ShelfDb(options.UseApplicationServiceProvider(Version3).Options);
    }

    /// <summary>As the host makes them for its backups.</summary>
    public Core.Upkeep.IDatabaseCopies Copies(Core.Shared.DataPaths paths) =>
        _postgres is null ? new SqliteCopies(paths, Version3) : new PostgresCopies(_postgres, Version3);

    /// <summary>All tables on SQLite, as the migrations make them; on PostgreSQL they are there already.</summary>
    public TestDatabase WithTables()
    {
        if (_postgres is null) File.WriteAllBytes(_sqliteFile, SqliteTemplate.Value);
        return this;
    }

    /// <summary>A database without any table, as a new server gives it.</summary>
    public static ShelfDb OpenPostgres(string connection)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        PostgresSetup.Use(options, connection);
        return new ShelfDb(options.UseApplicationServiceProvider(Version3).Options);
    }

    /// <summary>The same on SQLite.</summary>
    public static ShelfDb OpenSqlite(string file)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.Use(options, file);
        return new ShelfDb(options.UseApplicationServiceProvider(Version3).Options);
    }

    public void Dispose()
    {
        if (_postgres is null)
        {
            // Pooled connections hold on to the file; only this one's pool is emptied.
            using var db = Open();
            SqliteConnection.ClearPool((SqliteConnection)db.Database.GetDbConnection());
            return;
        }
        TestServer.GiveBack(_postgres);
    }

    /// <summary>The migrations take half a second, so they run once in each test process; copying what they made takes a millisecond.</summary>
    private static byte[] MakeSqliteTemplate()
    {
        var file = Path.GetTempFileName();
        using (var db = OpenSqlite(file))
        {
            SqliteSetup.BringUpToDateAsync(db, CancellationToken.None).GetAwaiter().GetResult();
            // The last connection to close brings all into the one file.
            SqliteConnection.ClearPool((SqliteConnection)db.Database.GetDbConnection());
        }
        var bytes = File.ReadAllBytes(file);
        File.Delete(file);
        return bytes;
    }
}
