using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Jobs;

namespace LibraryShelf.Web.Setup;

internal static class DownloadSetup
{
    /// <summary>How long answers under way may take to end when the program stops. TimeoutStopSec of deploy/libraryshelf.service leaves room for the rest.</summary>
    private static readonly TimeSpan Stopping = TimeSpan.FromSeconds(20);

    /// <summary>What lives longer than a request: the layouts, the tables of versions and the use of links and the turns of downloads in memory, the queue of events and its writer.</summary>
    public static void AddShelfDownloads(this WebApplicationBuilder builder)
    {
        builder.Services.AddSingleton(services => new ArchiveLayouts(services.GetRequiredService<IBlobStore>()));
        builder.Services.AddSingleton<VersionTables>();
        builder.Services.AddSingleton<LinkUses>();
        builder.Services.AddSingleton<DownloadTurns>();
        builder.Services.AddSingleton<EventQueue>();
        builder.Services.AddHostedService<EventService>();
        builder.Services.Configure<HostOptions>(o => o.ShutdownTimeout = Stopping);
    }
}
