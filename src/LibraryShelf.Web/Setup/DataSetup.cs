using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Data.Postgres;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.DataProtection;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>The one place that looks which database the settings name.</summary>
internal static partial class DataSetup
{
    public static void AddShelfData(this WebApplicationBuilder builder)
    {
        builder.Services.AddDbContextFactory<ShelfDb>((services, options) =>
        {
            var database = Settings(services);
            if (IsPostgres(database)) PostgresSetup.Use(options, database.Connection);
            else SqliteSetup.Use(options, services.GetRequiredService<DataPaths>().Database);
        });
        builder.Services.AddSingleton<IDatabaseCopies>(services => Settings(services) is var database && IsPostgres(database)
            ? new PostgresCopies(database.Connection, services)
            : new SqliteCopies(services.GetRequiredService<DataPaths>(), services));
        builder.Services.AddDataProtection().SetApplicationName("LibraryShelf").PersistKeysToDbContext<ShelfDb>();
    }

    /// <summary>Makes the data directory and brings the database to this version before the first request.</summary>
    /// <returns>
    /// False when the settings or the database are of no use: what to do has then been logged, nothing was changed, and the host is
    /// disposed.
    /// </returns>
    public static async Task<bool> PrepareDataAsync(this WebApplication app)
    {
        if (await WhyUnusableAsync(app.Services, app.Lifetime.ApplicationStopping) is { } why)
        {
            return await GiveUpAsync(app, why);
        }
        try
        {
            await app.Services.PrepareDataAsync(app.Lifetime.ApplicationStopping);
            return true;
        }
        catch (Exception fault) when (DiskTrouble.WordsOf(fault) is { } words)
        {
            return await GiveUpAsync(app, T($"{words} What it holds is kept. Put that right, then start the shelf again: it goes on where it was."));
        }
    }

    /// <summary>The same without a host, for the practice shop.</summary>
    public static async Task PrepareDataAsync(this IServiceProvider services, CancellationToken cancellationToken)
    {
        var paths = services.GetRequiredService<DataPaths>();
        foreach (var folder in new[] { paths.Root, paths.Blobs, paths.Uploads, paths.Outbox })
            Directory.CreateDirectory(folder);
        await using var scope = services.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<ShelfDb>();
        if (IsPostgres(Settings(services))) await PostgresSetup.BringUpToDateAsync(db, cancellationToken);
        else await SqliteSetup.BringUpToDateAsync(db, cancellationToken);
    }

    private static async Task<bool> GiveUpAsync(WebApplication app, string why)
    {
        LogUnusable(app.Logger, why);
        // The console's logger writes from a queue: a program that ends at once would end without a word.
        await app.DisposeAsync();
        return false;
    }

    private static async Task<string?> WhyUnusableAsync(IServiceProvider services, CancellationToken cancellationToken)
    {
        List<string> unread = [.. SettingsCheck.Unread(services.GetRequiredService<IConfiguration>().GetSection(ShelfSettings.Section), typeof(ShelfSettings))];
        if (unread.Count > 0)
            return OfNoUse(unread);
        try
        {
            var database = Settings(services);
            var paths = services.GetRequiredService<DataPaths>();
            RestoredFolder.Tidy(paths);
            if (RestoredFolder.IsCutOff(paths))
                return T($"A backup was being restored into {paths.Root}, and that was cut off. Nothing was changed. Run shelf-admin restore again: it begins anew.");
            return IsPostgres(database) ? await PostgresSetup.WhyUnusableAsync(database.Connection, cancellationToken) : null;
        }
        catch (OptionsValidationException bad)
        {
            return OfNoUse(bad.Failures);
        }
    }

    private static string OfNoUse(IEnumerable<string> why) => T($"A setting is of no use, and nothing was changed. Put it right, then start again. {string.Join(' ', why)}");

    private static DatabaseSettings Settings(IServiceProvider services) => services.GetRequiredService<IOptions<ShelfSettings>>().Value.Database;

    private static bool IsPostgres(DatabaseSettings database) => database.Provider == DatabaseSettings.Postgres;

    [LoggerMessage(LogLevel.Critical, "The shelf did not start. {Why}")]
    private static partial void LogUnusable(ILogger logger, string why);
}
