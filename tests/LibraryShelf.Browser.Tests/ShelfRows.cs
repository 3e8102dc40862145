using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Browser.Tests;

/// <summary>Rows written straight into a running shelf's database, where pressing all of it together would take hours: to be looked at, not to prove how they come about.</summary>
internal static class ShelfRows
{
    public static async Task AddAsync(RunningShelf shelf, Func<ShelfDb, DateTimeOffset, Task> add)
    {
        // The accounts' tables depend on this option, as the host sets it.
        await using var services = new ServiceCollection().Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3).BuildServiceProvider();
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.Use(options, new DataPaths(shelf.DataDirectory).Database);
        options.UseApplicationServiceProvider(services);
        await using var db = new ShelfDb(options.Options);
        await add(db, TimeProvider.System.GetUtcNow());
    }
}
