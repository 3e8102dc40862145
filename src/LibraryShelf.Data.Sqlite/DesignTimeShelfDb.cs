using LibraryShelf.Core.Data;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Design;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Data.Sqlite;

/// <summary>For the dotnet-ef tool only: adds and checks migrations without starting the host.</summary>
internal sealed class DesignTimeShelfDb : IDesignTimeDbContextFactory<ShelfDb>
{
    public ShelfDb CreateDbContext(string[] args)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.Use(options, "design-time.db");
        // The accounts' tables depend on this option, which the host sets too (AccountSetup); version 3 has the passkeys.
        var services = new ServiceCollection().Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3);
        options.UseApplicationServiceProvider(services.BuildServiceProvider());
        return new ShelfDb(options.Options);
    }
}
