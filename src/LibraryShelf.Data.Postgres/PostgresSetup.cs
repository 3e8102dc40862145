using System.Data.Common;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql;

namespace LibraryShelf.Data.Postgres;

/// <summary>Points a <see cref="ShelfDb"/> at a PostgreSQL database: text by code point, one writer at a time.</summary>
public static class PostgresSetup
{
    /// <summary>Connections at once unless the connection string says otherwise: half of what a server grants by default.</summary>
    private const int MostConnections = 50;

    /// <summary>Any number, as long as nothing else in this database takes it (see OneWriter).</summary>
    private const long MigrationLock = 495672716391;

    /// <summary>How long a start waits for another that is changing the tables.</summary>
    private static readonly TimeSpan LongestMigration = TimeSpan.FromMinutes(10);

    public static void Use(DbContextOptionsBuilder options, string connectionString)
    {
        ArgumentNullException.ThrowIfNull(options);
        options
            .UseNpgsql(WithDefaults(connectionString).ToString(), o => o
                .MigrationsAssembly(typeof(PostgresSetup).Assembly.FullName)
                // As on SQLite: one statement sees one state.
                .UseQuerySplittingBehavior(QuerySplittingBehavior.SingleQuery))
            .ReplaceService<IModelCustomizer, TextByCodePoint>()
            .AddInterceptors(OneWriter.Instance, OneWriterStatements.Instance, TextWithoutNul.Instance);
    }

    /// <summary>Asks the server, and changes nothing.</summary>
    /// <returns>Null when the database can be used; else why not and what to do, without the password.</returns>
    public static async Task<string?> WhyUnusableAsync(string connectionString, CancellationToken cancellationToken)
    {
        NpgsqlConnectionStringBuilder to;
        try
        {
            to = WithDefaults(connectionString);
        }
        catch (ArgumentException)
        {
            // What was read may hold the password, so it is not repeated.
            return T("Shelf:Database:Connection can’t be read. Nothing was changed. Write it as Host=…;Database=…;Username=…;Password=… and start again.");
        }
        try
        {
            await using var connection = new NpgsqlConnection(to.ToString());
            await connection.OpenAsync(cancellationToken);
            await using var command = new NpgsqlCommand("SELECT current_setting('server_encoding')", connection);
            var encoding = (string?)await command.ExecuteScalarAsync(cancellationToken);
            return encoding == "UTF8" ? null
                : T($"The database {to.Database} keeps text as {encoding}, and the shelf needs UTF8. Nothing was changed. Make one with CREATE DATABASE name ENCODING 'UTF8' TEMPLATE template0, and name it in Shelf:Database:Connection.");
        }
        catch (DbException refusal)
        {
            return T($"The database {to.Database} on {to.Host}:{to.Port} can’t be opened: {Reason(refusal)}. Nothing was changed. See that the server runs and that Shelf:Database:Connection is right, then start again.");
        }
    }

    /// <summary>Applies the migrations that this database lacks; of two that start at once, one waits for the other.</summary>
    public static async Task BringUpToDateAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(db);
        // The platform's own lock is let go between two migrations, and a second start then makes the same column again. This one is held
        // from before the look at what is lacking until all is there; it ends with the connection, also when the program is killed.
        await db.Database.OpenConnectionAsync(cancellationToken);
        try
        {
            await TellAsync(db, $"SELECT pg_advisory_lock({MigrationLock})", cancellationToken);
            // Else the first start logs as a failure that this table is not there yet.
            await db.GetService<IHistoryRepository>().CreateIfNotExistsAsync(cancellationToken);
            await db.Database.MigrateAsync(cancellationToken);
            await TellAsync(db, $"SELECT pg_advisory_unlock({MigrationLock})", cancellationToken);
        }
        finally
        {
            // A lock still held here ends with what the pool does to a connection that comes back (DISCARD ALL).
            await db.Database.CloseConnectionAsync();
        }
    }

    /// <summary>Past the interceptors: waiting for this lock must not be done while holding the writer's.</summary>
    private static async Task TellAsync(ShelfDb db, string statement, CancellationToken cancellationToken)
    {
        await using var command = db.Database.GetDbConnection().CreateCommand();
        #pragma warning disable CA2100 // The statements are this class's own.
        command.CommandText = statement;
#pragma warning restore CA2100
        command.CommandTimeout = (int)LongestMigration.TotalSeconds;
        await command.ExecuteNonQueryAsync(cancellationToken);
    }

    private static NpgsqlConnectionStringBuilder WithDefaults(string connectionString)
    {
        var builder = new NpgsqlConnectionStringBuilder(connectionString);
        builder.ApplicationName ??= "LibraryShelf";
        if (!builder.ShouldSerialize("Maximum Pool Size")) builder.MaxPoolSize = MostConnections;
        return builder;
    }

    private static string Reason(DbException refusal) =>
        (refusal as PostgresException)?.MessageText ?? refusal.InnerException?.Message ?? refusal.Message;
}
