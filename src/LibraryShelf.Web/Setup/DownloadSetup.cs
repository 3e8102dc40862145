using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Endpoints.Serving;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Server.Kestrel.Transport.Sockets;

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
        builder.Services.AddSingleton<KnownKeyprints>();
        builder.Services.AddSingleton<KnownRecorded>();
        builder.Services.AddSingleton<LinkUses>();
        builder.Services.AddSingleton<DownloadTurns>();
        builder.Services.AddSingleton<LinkDoor>();
        builder.Services.AddSingleton<EventQueue>();
        builder.Services.AddSingleton<VisitorKeys>();
        builder.Services.AddSingleton<Sightings>();
        builder.Services.AddSingleton(_ => new Robots(typeof(DownloadSetup).Assembly.GetManifestResourceStream("robots.json")
            ?? throw new InvalidOperationException("The list of robots is not in this program: it was built in part. Build it anew.")));
        builder.Services.AddHttpContextAccessor();
        builder.Services.AddScoped(Asking);
        builder.Services.AddScoped<Pages.Shelf.Looking>();
        builder.Services.AddHostedService<EventService>();
        builder.Services.Configure<SocketTransportOptions>(o => o.MaxWriteBufferSize = ArchiveBody.Sip);
        builder.Services.Configure<HostOptions>(o => o.ShutdownTimeout = Stopping);
    }

    /// <summary>Who sent the request that is under way; nobody outside of one.</summary>
    private static WhoAsks Asking(IServiceProvider services)
    {
        if (services.GetRequiredService<IHttpContextAccessor>().HttpContext is not { } context)
            return new WhoAsks(Visitor: null, IsRobot: false);
        var program = context.Request.Headers.UserAgent.ToString();
        // Behind a proxy that is not believed every visitor has the proxy's address: they can't be told apart, so none is said to be another.
        var isKnown = context.Connection.RemoteIpAddress is not null && !ProxySetup.IsUnheeded(context.Request.Headers);
        return new WhoAsks(
            isKnown ? services.GetRequiredService<VisitorKeys>().Of(context.Connection.RemoteIpAddress, program) : null, services.GetRequiredService<Robots>().Knows(program));
    }
}
