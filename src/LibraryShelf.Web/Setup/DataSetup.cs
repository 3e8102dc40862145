using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Setup;

internal static class DataSetup
{
    public static void AddShelfData(this WebApplicationBuilder builder)
    {
        builder.Services.AddDbContextFactory<ShelfDb>((services, options) =>
            SqliteSetup.Use(options, services.GetRequiredService<DataPaths>().Database));
        builder.Services.AddDataProtection().SetApplicationName("LibraryShelf").PersistKeysToDbContext<ShelfDb>();
    }

    /// <summary>Makes the data directory and brings the database to this version before the first request.</summary>
    public static Task PrepareDataAsync(this WebApplication app) => app.Services.PrepareDataAsync(app.Lifetime.ApplicationStopping);

    /// <summary>The same without a host, for the practice shop.</summary>
    public static async Task PrepareDataAsync(this IServiceProvider services, CancellationToken cancellationToken)
    {
        var paths = services.GetRequiredService<DataPaths>();
        foreach (var folder in new[] { paths.Root, paths.Blobs, paths.Uploads, paths.Outbox })
            Directory.CreateDirectory(folder);
        await using var scope = services.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<ShelfDb>();
        await SqliteSetup.BringUpToDateAsync(db, cancellationToken);
    }
}
