using LibraryShelf.Core.Data;
using LibraryShelf.Data.Postgres;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.Identity;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.DependencyInjection;
using Npgsql;

namespace LibraryShelf.Core.Tests;

/// <summary>
/// A database of one test's own: a SQLite file, or, where the run says SHELF_TEST_DATABASE=postgres, one on the PostgreSQL server
/// of <see cref="TestServer"/>. The tables are made before the first use and are gone with it.
/// </summary>
public sealed class TestDatabase : IDisposable
{
    private static readonly IServiceProvider Version3 = new ServiceCollection()
        .Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3).BuildServiceProvider();

    private readonly string _sqliteFile;
    private readonly string? _postgres;

    /// <param name="sqliteFile">Where the file lies when the run is on SQLite; its folder exists.</param>
    public TestDatabase(string sqliteFile)
    {
        _sqliteFile = sqliteFile;
        _postgres = IsPostgres ? TestServer.Make() : null;
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

    /// <summary>Makes the tables on SQLite; on PostgreSQL they came with the template, from the migrations.</summary>
    public TestDatabase WithTables()
    {
        if (_postgres is not null) return this;
        using var db = Open();
        db.Database.EnsureCreated();
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
        // Pooled connections hold on to the database; only this one's pool is emptied.
        using var db = Open();
        if (_postgres is null)
        {
            SqliteConnection.ClearPool((SqliteConnection)db.Database.GetDbConnection());
            return;
        }
        NpgsqlConnection.ClearPool((NpgsqlConnection)db.Database.GetDbConnection());
        TestServer.Drop(_postgres);
    }
}
