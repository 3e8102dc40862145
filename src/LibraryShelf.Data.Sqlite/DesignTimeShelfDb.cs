using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Design;

namespace LibraryShelf.Data.Sqlite;

/// <summary>For the dotnet-ef tool only: adds and checks migrations without starting the host.</summary>
internal sealed class DesignTimeShelfDb : IDesignTimeDbContextFactory<ShelfDb>
{
    public ShelfDb CreateDbContext(string[] args)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.Use(options, "design-time.db");
        return new ShelfDb(options.Options);
    }
}
