using LibraryShelf.Data.Postgres;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace LibraryShelf.Core.Tests.Data.Postgres;

/// <summary>What is said before the shelf starts on a PostgreSQL database that is of no use.</summary>
public sealed class PostgresSetupTests
{
    private const string Password = "tell-nobody-4711";

    [Theory]
    // Port 1 of this machine: nobody listens there.
    [InlineData("Host=127.0.0.1;Port=1;Database=shelf;Username=u;Timeout=5;Password=" + Password, "The database shelf on 127.0.0.1:1 can’t be opened")]
    [InlineData("Host=127.0.0.1;Port=none;Password=" + Password, "can’t be read")]
    [InlineData(Password, "can’t be read")]
    public async Task A_server_that_is_not_there_and_a_text_that_is_no_connection_are_said_without_the_password(string connection, string words)
    {
        var why = await PostgresSetup.WhyUnusableAsync(connection, default);
        Assert.Contains(words, why, StringComparison.Ordinal);
        Assert.DoesNotContain(Password, why, StringComparison.Ordinal);
    }

    [Fact, Trait("Database", "postgres")]
    public async Task A_database_that_is_not_there_is_named()
    {
        var connection = TestServer.Create("TEMPLATE template0");
        Assert.Null(await PostgresSetup.WhyUnusableAsync(connection + ";Pooling=false", default));
        TestServer.Drop(connection);
        var why = await PostgresSetup.WhyUnusableAsync(connection + ";Pooling=false", default);
        Assert.Contains($"database \"{new NpgsqlConnectionStringBuilder(connection).Database}\" does not exist", why, StringComparison.Ordinal);
    }

    [Fact, Trait("Database", "postgres")]
    public async Task A_database_of_another_encoding_is_refused()
    {
        var connection = TestServer.Create("TEMPLATE template0 ENCODING 'LATIN1' LOCALE 'C'");
        var why = await PostgresSetup.WhyUnusableAsync(connection + ";Pooling=false", default);
        TestServer.Drop(connection);
        Assert.Contains("keeps text as LATIN1", why, StringComparison.Ordinal);
    }

    [Fact, Trait("Database", "postgres")]
    public async Task Two_starts_at_once_on_an_empty_database_both_come_up()
    {
        var connection = TestServer.Create("TEMPLATE template0");
        await Task.WhenAll(Enumerable.Range(0, 3).Select(_ => Task.Run(async () =>
        {
            await using var db = TestDatabase.OpenPostgres(connection + ";Pooling=false");
            await PostgresSetup.BringUpToDateAsync(db, default);
        })));
        TestServer.Drop(connection);
    }

    /// <summary>What every test on PostgreSQL relies on: the database it takes fails no question for what an earlier test left.</summary>
    [Fact, Trait("Database", "postgres")]
    public async Task A_test_s_database_comes_without_connections_that_were_cut()
    {
        var connection = TestServer.Take();
        await using (var db = TestDatabase.OpenPostgres(connection))
            Assert.Empty(await db.Shops.ToListAsync());
        var name = new NpgsqlConnectionStringBuilder(connection).Database;
        TestServer.Say($"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}' AND application_name = 'LibraryShelf'");
        Assert.True(TestServer.IsWhole(connection));
        await using (var db = TestDatabase.OpenPostgres(connection))
            Assert.Empty(await db.Shops.ToListAsync());
        TestServer.GiveBack(connection);
    }
}
