using System.Diagnostics;
using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup.Demo.Loading;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Setup.Demo;

/// <summary>Makes the practice shop before the host starts, so that whoever reaches the address finds it whole.</summary>
internal static class DemoShop
{
    private static readonly TextWriter Output = Console.Out;

    /// <summary>
    /// With --demo: fills the practice shop's folder, or takes it as it stands. False when it can't be used; what is wrong, what
    /// is kept and what to do has then been said.
    /// </summary>
    public static async Task<bool> OpenAsync(DemoArguments start, CancellationToken cancellationToken = default)
    {
        if (!start.IsDemo)
            return true;
        var clock = new SettableClock(TimeProvider.System.GetUtcNow());
        await using var services = Services(start.Rest, clock);
        var root = services.GetRequiredService<DataPaths>().Root;
        using var folder = DemoFolder.Open(root);
        if (folder.State is DemoFolderState.NotOurs or DemoFolderState.Busy)
        {
            await Console.Error.WriteLineAsync(Refusal(folder.State, root));
            return false;
        }
        if (folder.State == DemoFolderState.ToFill)
            await FillAsync(services, clock, root, cancellationToken);
        folder.Finish();
        return true;
    }

    private static string Refusal(DemoFolderState state, string root) => state == DemoFolderState.Busy
        ? $"Another start is filling the practice shop in {root}. Nothing was changed. Wait for it, or name another folder with --Shelf:DataDirectory=FOLDER."
        : $"{root} holds something that is not a practice shop. Nothing was changed. Name another folder with --Shelf:DataDirectory=FOLDER, or start without --demo.";

    private static async Task FillAsync(ServiceProvider services, SettableClock clock, string root, CancellationToken cancellationToken)
    {
        var watch = Stopwatch.StartNew();
        await Output.WriteLineAsync($"Practice shop: making its recordings in {root} (once; about half a minute) ...");
        var now = clock.Now;
        await services.PrepareDataAsync(cancellationToken);
        await new SeedShelf(new Steps(services), clock, services.GetRequiredService<DataPaths>(), Output).RunAsync(SeedReader.Read(SeedReader.DefaultFolder), now, cancellationToken);
        await Output.WriteLineAsync($"Practice shop: ready after {watch.Elapsed.TotalSeconds:F0} s.");
    }

    /// <summary>The steps of the shelf as the host has them, but with a clock that can be put back. Nothing is built or started that listens.</summary>
    internal static ServiceProvider Services(string[] arguments, SettableClock clock)
    {
        var builder = WebApplication.CreateBuilder(arguments);
        builder.AddShelfSettings();
        builder.AddShelfData();
        builder.AddShelfStorage();
        builder.AddShelfVerbs();
        builder.AddShelfAccounts();
        builder.AddShelfMail();
        builder.AddShelfDownloads();
        builder.Services.AddSingleton<TimeProvider>(clock);
        // Invented people get no real mail, even where a mail server is set.
        builder.Services.AddSingleton<IMailer>(provider => provider.GetRequiredService<OutboxFolderMailer>());
        return builder.Services.BuildServiceProvider();
    }
}
