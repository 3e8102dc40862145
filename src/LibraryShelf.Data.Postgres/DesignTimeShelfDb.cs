using LibraryShelf.Core.Data;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Design;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Data.Postgres;

/// <summary>For the dotnet-ef tool only: adds and checks migrations without starting the host or asking a server.</summary>
internal sealed class DesignTimeShelfDb : IDesignTimeDbContextFactory<ShelfDb>
{
    public ShelfDb CreateDbContext(string[] args)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        PostgresSetup.Use(options, "Host=localhost;Database=design-time");
        // The accounts' tables depend on this option, which the host sets too (AccountSetup); version 3 has the passkeys.
        var services = new ServiceCollection().Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3);
        options.UseApplicationServiceProvider(services.BuildServiceProvider());
        return new ShelfDb(options.Options);
    }
}
