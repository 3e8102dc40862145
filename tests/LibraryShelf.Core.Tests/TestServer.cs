using System.Collections.Concurrent;
using LibraryShelf.Data.Postgres;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace LibraryShelf.Core.Tests;

/// <summary>
/// The PostgreSQL server whose connection string stands in SHELF_TEST_POSTGRES (tests/run starts one); its user may make databases.
/// The migrations run once in each test process, into a template; a test's database is a copy of it. Making and dropping one costs the
/// server some 100 ms, so those that tests gave back are emptied and taken again.
/// </summary>
internal static class TestServer
{
    /// <summary>
    /// Whatever a test left: connections still at work are cut, as they would be by dropping the database; rows go past foreign keys and
    /// triggers; a table that grew big is cut down, so that the next test does not read its empty pages; numbers begin at the beginning.
    /// </summary>
    private const string Empty = """
        SELECT pg_terminate_backend(pid) FROM pg_stat_activity
            WHERE datname = current_database() AND pid <> pg_backend_pid() AND state <> 'idle';
        DO $$
        DECLARE place regclass;
        BEGIN
            PERFORM set_config('session_replication_role', 'replica', true);
            FOR place IN SELECT oid FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace
                AND relname <> '__EFMigrationsHistory' AND pg_relation_size(oid) > 0
            LOOP
                IF pg_relation_size(place) > 1000000 THEN
                    EXECUTE format('TRUNCATE %s CASCADE', place);
                ELSE
                    EXECUTE format('DELETE FROM %s', place);
                END IF;
            END LOOP;
            PERFORM setval(seqrelid, seqstart, false) FROM pg_sequence;
        END $$
        """;

    private const string Tables =
        "SELECT string_agg(relname, ' ' ORDER BY relname) FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace";

    private static readonly Lazy<string> Template = new(MakeTemplate);
    private static readonly Lazy<object?> AllTables = new(() =>
        Say(Tables, new NpgsqlConnectionStringBuilder(Server) { Database = Template.Value, Pooling = false }.ToString()));
    private static readonly ConcurrentQueue<string> GivenBack = new();

    /// <returns>The connection string of a database with all tables and no rows.</returns>
    public static string Take() => GivenBack.TryDequeue(out var connection) ? connection : Make();

    /// <summary>For a later test; unless its tables are not as they were, or its connections were cut: then it goes.</summary>
    public static void GiveBack(string connection)
    {
        if (IsWhole(connection))
            GivenBack.Enqueue(connection);
        else
            Drop(connection);
    }

    /// <summary>Empties it, and says whether a test can take it.</summary>
    internal static bool IsWhole(string connection)
    {
        try
        {
            Say(Empty, connection);
            // One that was cut just as it came back waits in the program's pool (another than that of this class: its connection
            // string has more in it), and would fail whoever takes it next.
            using (var db = TestDatabase.OpenPostgres(connection))
                NpgsqlConnection.ClearPool((NpgsqlConnection)db.Database.GetDbConnection());
            return Equals(Say(Tables, connection), AllTables.Value);
        }
        catch (NpgsqlException)
        {
            return false;
        }
    }

    private static string Make()
    {
        var made = Create($"TEMPLATE \"{Template.Value}\" STRATEGY FILE_COPY");
        AppDomain.CurrentDomain.ProcessExit += (_, _) => Drop(made);
        return made;
    }

    /// <param name="how">The options of CREATE DATABASE.</param>
    /// <returns>The connection string of a new database.</returns>
    public static string Create(string how)
    {
        var name = "shelf_" + Guid.NewGuid().ToString("N");
        Say($"CREATE DATABASE \"{name}\" {how}");
        // Few connections each: many tests run side by side on one server.
        return new NpgsqlConnectionStringBuilder(Server) { Database = name, MaxPoolSize = 20 }.ToString();
    }

    public static void Drop(string connection) =>
        Say($"DROP DATABASE IF EXISTS \"{new NpgsqlConnectionStringBuilder(connection).Database}\" WITH (FORCE)");

    private static string Server => Environment.GetEnvironmentVariable("SHELF_TEST_POSTGRES")
        ?? throw new InvalidOperationException("SHELF_TEST_DATABASE is postgres, but SHELF_TEST_POSTGRES names no server. See DEVELOPERS.md, Tests.");

    private static string MakeTemplate()
    {
        // The server's own language must not matter, so the tests run on one that sorts otherwise than by code point.
        var connection = Create("TEMPLATE template0 ENCODING 'UTF8' LOCALE_PROVIDER icu ICU_LOCALE 'en' LOCALE 'C'");
        // Not pooled: a template must have no visitors while it is copied.
        using (var db = TestDatabase.OpenPostgres(connection + ";Pooling=false"))
            PostgresSetup.BringUpToDateAsync(db, CancellationToken.None).GetAwaiter().GetResult();
        AppDomain.CurrentDomain.ProcessExit += (_, _) => Drop(connection);
        return new NpgsqlConnectionStringBuilder(connection).Database!;
    }

    /// <summary>Says something to the server itself, outside any test's database.</summary>
    public static void Say(string sql) => Say(sql, Server);

    /// <returns>The first column of the first row; null: none.</returns>
    private static object? Say(string sql, string to)
    {
        using var connection = new NpgsqlConnection(to);
        connection.Open();
        using var command = new NpgsqlCommand(sql, connection);
        return command.ExecuteScalar();
    }
}
