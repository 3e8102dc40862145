using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>What SQLite is told on each connection, also on one that comes back from the pool.</summary>
[Trait("Database", "sqlite")]
public sealed class SqlitePragmasTests
{
    [Fact]
    public async Task Each_connection_writes_ahead_waits_its_turn_and_holds_to_foreign_keys()
    {
        await using var shelf = await TempShelf.MakeAsync();
        for (var round = 0; round < 2; round++)
        {
            await using var first = shelf.Open();
            await using var second = shelf.Open();
            foreach (var db in new[] { first, second })
            {
                await db.Database.OpenConnectionAsync();
                Assert.Equal("wal", await AskAsync(db, "journal_mode"));
                Assert.Equal("30000", await AskAsync(db, "busy_timeout")); // ms
                Assert.Equal("1", await AskAsync(db, "foreign_keys"));
                Assert.Equal("1", await AskAsync(db, "synchronous")); // NORMAL
            }
        }
    }

    private static async Task<string?> AskAsync(Core.Data.ShelfDb db, string pragma)
    {
        await using var command = db.Database.GetDbConnection().CreateCommand();
        command.CommandText = $"PRAGMA {pragma}";
        return Convert.ToString(await command.ExecuteScalarAsync(), System.Globalization.CultureInfo.InvariantCulture);
    }
}
