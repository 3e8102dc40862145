using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>A proper stop under a download that goes on for longer than the host waits.</summary>
public sealed class StopTests
{
    [Fact]
    public async Task What_a_broken_off_answer_handed_over_is_written_also_when_the_hosts_own_time_is_over()
    {
        await using var shelf = await StockedHost.MakeAsync([], services => services.PostConfigure<HostOptions>(o => o.ShutdownTimeout = TimeSpan.FromMilliseconds(500)), 96 << 20);
        var link = await shelf.LinkAsync();
        using var client = shelf.Client();
        using var answer = await client.GetAsync(new Uri(shelf.Address, link.Path), HttpCompletionOption.ResponseHeadersRead);
        await using var body = await answer.Content.ReadAsStreamAsync();
        await body.ReadExactlyAsync(new byte[64 * 1024]);
        // Asked for before the stop: once stopped, the host may be gone with all its services at any moment.
        await using var scope = shelf.Host.Services.CreateAsyncScope();
        var (db, queue) = (scope.ServiceProvider.GetRequiredService<ShelfDb>(), scope.ServiceProvider.GetRequiredService<EventQueue>());
        Assert.True(await db.Downloads.AnyAsync());
        // Less than one stretch fits the sockets' buffers, so nothing is written before the end.
        await shelf.Host.Services.GetRequiredService<IHost>().StopAsync();
        var events = await db.DownloadEvents.AsNoTracking().Where(e => e.DownloadId == link.DownloadId).ToListAsync();
        Assert.NotEmpty(events);
        Assert.InRange(events.Max(e => e.To), 64 * 1024, shelf.Whole.Length - 1);
        Assert.True(queue.IsQuiet);
    }

    /// <summary>systemd kills what has not ended by then: the answers' time, then twice five seconds for the events, then some to close.</summary>
    [Fact]
    public async Task The_unit_waits_for_longer_than_the_host_takes()
    {
        await using var host = new ShelfHost();
        var takes = host.Services.GetRequiredService<IOptions<HostOptions>>().Value.ShutdownTimeout + TimeSpan.FromSeconds(10);
        var waits = await File.ReadAllLinesAsync(Path.Combine(Deploy.NginxInFront.Repository(), "deploy", "libraryshelf.service"));
        var seconds = int.Parse(Assert.Single(waits, l => l.StartsWith("TimeoutStopSec=", StringComparison.Ordinal)).Split('=')[1], System.Globalization.CultureInfo.InvariantCulture);
        Assert.True(TimeSpan.FromSeconds(seconds) >= takes + TimeSpan.FromSeconds(5), $"{seconds} s against {takes}");
    }
}
