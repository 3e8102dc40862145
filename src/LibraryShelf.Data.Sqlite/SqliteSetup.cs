using LibraryShelf.Core.Data;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Data.Sqlite;

/// <summary>Points a <see cref="ShelfDb"/> at a SQLite file: WAL, foreign keys on, 30 s busy timeout.</summary>
public static class SqliteSetup
{
    public static void Use(DbContextOptionsBuilder options, string databaseFile) => Use(options, databaseFile, isPooled: true);

    /// <summary>The same without a pool: once closed, nothing lies beside the file, and it may be moved.</summary>
    public static void UseAlone(DbContextOptionsBuilder options, string databaseFile) => Use(options, databaseFile, isPooled: false);

    private static void Use(DbContextOptionsBuilder options, string databaseFile, bool isPooled) =>
        options
            .UseSqlite(ConnectionString(databaseFile, isPooled), o => o
                .MigrationsAssembly(typeof(SqliteSetup).Assembly.FullName)
                // A list is one value, which json_each takes apart: a folder's hashes as values of their own make a new statement for every length.
                .UseParameterizedCollectionMode(ParameterTranslationMode.Parameter)
                // Said outright, because one statement sees one state: a library's releases and decisions belong together.
                .UseQuerySplittingBehavior(QuerySplittingBehavior.SingleQuery))
            .AddInterceptors(SqlitePragmas.Instance, MoneyIsWaitedFor.Instance);

    /// <summary>
    /// Applies the migrations that this database lacks, each in a transaction of its own. A lock row left by a start that was
    /// killed would hold up every later start (EF Core keeps its SQLite lock as a row and does not time it out), so it is
    /// taken away first: one program owns a data directory.
    /// </summary>
    public static async Task BringUpToDateAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(db);
        const string Lock = "__EFMigrationsLock";
        var tables = db.Database.SqlQuery<int>($"SELECT COUNT(*) AS Value FROM sqlite_master WHERE name = {Lock}");
        if (File.Exists(new SqliteConnectionStringBuilder(db.Database.GetConnectionString()).DataSource)
            && await tables.SingleAsync(cancellationToken) > 0)
        {
            await db.Database.ExecuteSqlAsync($"DELETE FROM __EFMigrationsLock", cancellationToken);
        }
        await db.Database.MigrateAsync(cancellationToken);
    }

    private static string ConnectionString(string databaseFile, bool isPooled) => new SqliteConnectionStringBuilder
    {
        DataSource = databaseFile,
        ForeignKeys = true,
        DefaultTimeout = 30,
        Pooling = isPooled,
    }.ToString();
}
