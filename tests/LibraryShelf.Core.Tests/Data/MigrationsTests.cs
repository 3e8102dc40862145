using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>A change of the model is two migrations, one for each database; no server is asked.</summary>
[Trait("Database", "sqlite")]
public sealed class MigrationsTests
{
    [Fact]
    public void Those_of_sqlite_make_the_tables_of_the_model() => Holds(TestDatabase.OpenSqlite("nowhere.db"));

    [Fact]
    public void Those_of_postgres_make_the_tables_of_the_model() => Holds(TestDatabase.OpenPostgres("Host=localhost;Database=nowhere"));

    private static void Holds(ShelfDb db)
    {
        using (db)
            Assert.False(db.Database.HasPendingModelChanges(), "The model has changed since the last migration. Add one (DEVELOPERS.md says how), for both databases.");
    }
}
