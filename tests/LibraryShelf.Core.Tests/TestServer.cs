using LibraryShelf.Data.Postgres;
using Npgsql;

namespace LibraryShelf.Core.Tests;

/// <summary>
/// The PostgreSQL server whose connection string stands in SHELF_TEST_POSTGRES (tests/run starts one); its user may make databases.
/// The migrations run once in each test process, into a template; a test's database is a copy of it, made in some 10 ms.
/// </summary>
internal static class TestServer
{
    private static readonly Lazy<string> Template = new(MakeTemplate);

    /// <returns>The connection string of a database with all tables and no rows.</returns>
    public static string Make() => Create($"TEMPLATE \"{Template.Value}\" STRATEGY FILE_COPY");

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
        Say($"DROP DATABASE \"{new NpgsqlConnectionStringBuilder(connection).Database}\" WITH (FORCE)");

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
    public static void Say(string sql)
    {
        using var connection = new NpgsqlConnection(Server);
        connection.Open();
        using var command = new NpgsqlCommand(sql, connection);
        command.ExecuteNonQuery();
    }
}
