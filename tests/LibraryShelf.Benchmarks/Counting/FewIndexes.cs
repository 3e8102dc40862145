using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>
/// Some tables without their indexes while millions of rows are written into them, and nothing kept safe on the way: the indexes are made afterwards, each in one
/// go, and the database looks at how its tables are filled, as a server does by itself in time.
/// </summary>
internal sealed class FewIndexes : IAsyncDisposable
{
    private readonly ShelfDb db;
    private readonly List<string> definitions;

    private FewIndexes(ShelfDb db, List<string> definitions) => (this.db, this.definitions) = (db, definitions);

    public static async Task<FewIndexes> LeaveOutAsync(ShelfDb db, params string[] tables)
    {
        await db.Database.OpenConnectionAsync();
        if (db.Database.IsSqlite())
            await SayAsync(db, "PRAGMA journal_mode=OFF", "PRAGMA synchronous=OFF", "PRAGMA cache_size=-4000000");
        var listed = db.Database.IsSqlite() ? db.Database.SqlQuery<Index>($"""SELECT tbl_name AS "Of", name AS "Name", sql AS "Definition" FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL""")
            : db.Database.SqlQuery<Index>($"""SELECT tablename AS "Of", indexname AS "Name", indexdef AS "Definition" FROM pg_indexes WHERE indexname NOT LIKE 'PK%'""");
        var indexes = (await listed.ToListAsync()).FindAll(i => tables.Contains(i.Of));
        await SayAsync(db, [.. indexes.Select(i => $"DROP INDEX \"{i.Name}\"")]);
        return new(db, indexes.ConvertAll(i => i.Definition));
    }

    public async ValueTask DisposeAsync()
    {
        await SayAsync(db, [.. definitions]);
        if (db.Database.IsSqlite())
            await SayAsync(db, "PRAGMA cache_size=-2000", "PRAGMA journal_mode=WAL");
        else
            await SayAsync(db, "VACUUM ANALYZE");
        await db.Database.CloseConnectionAsync();
    }

    /// <summary>In no transaction, and past EF's: pragmas and VACUUM stand in none.</summary>
    private static async Task SayAsync(ShelfDb db, params string[] statements)
    {
        foreach (var statement in statements)
        {
            await using var command = db.Database.GetDbConnection().CreateCommand();
#pragma warning disable CA2100 // Of the benchmark and of the database itself.
            command.CommandText = statement;
#pragma warning restore CA2100
            command.CommandTimeout = 3600;
            await command.ExecuteNonQueryAsync();
        }
    }

    private sealed record Index(string Of, string Name, string Definition);
}
