using System.Data.Common;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Admin;

/// <summary>
/// `shelf-admin`: what only the person at the server may do. The same program on the same settings and database, without a host;
/// the server may be running or not. Exit codes: 0 done, 1 not done (why is said), 2 not understood.
/// </summary>
internal static class AdminProgram
{
    public const int Done = 0;
    public const int NotDone = 1;
    public const int NotUnderstood = 2;

    private const string Help = """
        shelf-admin: what only the person at the server may do

          recover EMAIL [--remove-passkeys]   the maker with this address lost her way in: ends her sign-ins, lifts the lock
                                              after wrong passwords and prints a one-time link to choose a new password
          offer-claim                         prints a new one-time link with which an unclaimed shelf is claimed
          rotate-link-key                     new download links get a new key; links already made go on
          restore [NAME]                      makes an empty data directory a shelf again, from the latest backup of
                                              Shelf:Backup:Directory or from this one; the shelf starts quiet.
                                              --without-damaged goes on without files whose copies are damaged;
                                              --database-is-restored: on PostgreSQL, after pg_restore;
                                              --trial only tries the backup: that shelf touches nothing real, for good
          help                                this text

        Settings are the server's: appsettings.json in the current directory, the environment (Shelf__DataDirectory=…), or
        --Shelf:DataDirectory=FOLDER at the end.
        """;

    public static async Task<int> RunAsync(AdminArguments arguments)
    {
        if (arguments.Words is ["help"] || (arguments.Words.Count == 0 && arguments.Flags is ["--help"]))
            return await SayAsync(Done, Help);
        if (AdminCommands.Find(arguments) is not { } command)
            return await SayAsync(NotUnderstood, "That is no command of shelf-admin. Nothing was done.\n\n" + Help);
        try
        {
            await using var services = Services(arguments.Settings);
            return await RunAsync(services, command, AdminCommands.NeedShelf(arguments));
        }
        catch (OptionsValidationException wrong)
        {
            return await SayAsync(NotDone, $"A setting is wrong, so nothing was done: {wrong.Message}");
        }
        catch (ArgumentException wrong)
        {
            // A connection string that can't be read; its text may hold a password and is not repeated.
            return await SayAsync(NotDone, $"A setting can't be read, so nothing was done ({wrong.GetType().Name} about {wrong.ParamName ?? "a value"}). Look at Shelf:Database:Connection.");
        }
        catch (DbException trouble)
        {
            return await SayAsync(NotDone, $"The shelf's database could not be used, so nothing was done: {trouble.Message} Start the shelf once with this version, look at its database settings, and try again.");
        }
    }

    private static async Task<int> RunAsync(ServiceProvider services, AdminCommand command, bool needsShelf)
    {
        await using var scope = services.CreateAsyncScope();
        // Never makes a database: an empty one in a wrong place would look like a shelf without a maker.
        if (needsShelf && !await scope.ServiceProvider.GetRequiredService<ShelfDb>().Database.CanConnectAsync())
        {
            var isPostgres = services.GetRequiredService<IOptions<ShelfSettings>>().Value.Database.Provider == DatabaseSettings.Postgres;
            return await SayAsync(NotDone, isPostgres
                ? "The PostgreSQL database of these settings does not answer, or is not there. Nothing was done. Look at the server and at Shelf:Database:Connection, or start the shelf once."
                : $"No shelf's database was found with these settings (data directory {services.GetRequiredService<DataPaths>().Root}). Nothing was done. "
                + "Name the shelf's folder with --Shelf:DataDirectory=FOLDER, or start the shelf once.");
        }
        var (code, words) = await command(scope.ServiceProvider);
        return await SayAsync(code, words);
    }

    private static ServiceProvider Services(string[] settings)
    {
        var builder = WebApplication.CreateBuilder(settings);
        builder.Logging.ClearProviders();
        builder.AddShelfSettings();
        builder.AddShelfData();
        builder.AddShelfStorage();
        builder.AddShelfVerbs();
        builder.AddShelfAccounts();
        builder.Services.AddSingleton<IConfiguration>(builder.Configuration);
        return builder.Services.BuildServiceProvider();
    }

    private static async Task<int> SayAsync(int code, string words)
    {
        await (code == Done ? Console.Out : Console.Error).WriteLineAsync(words);
        return code;
    }
}
