using LibraryShelf.Core.Data;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Data.Sqlite;

/// <summary>Points a <see cref="ShelfDb"/> at a SQLite file: WAL, foreign keys on, 30 s busy timeout.</summary>
public static class SqliteSetup
{
    public static void Use(DbContextOptionsBuilder options, string databaseFile) =>
        options
            .UseSqlite(ConnectionString(databaseFile), o => o.MigrationsAssembly(typeof(SqliteSetup).Assembly.FullName))
            .AddInterceptors(SqlitePragmas.Instance);

    private static string ConnectionString(string databaseFile) => new SqliteConnectionStringBuilder
    {
        DataSource = databaseFile,
        ForeignKeys = true,
        DefaultTimeout = 30,
        Pooling = true,
    }.ToString();
}
