using System.Threading.Channels;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Writes download events as they come and wakes the count after them, at most every <see cref="CountEvery"/>. The web server
/// stops before this does (hosted services stop in the reverse of their order, the server being last). It may have used up the time
/// the host gives for stopping, so this has a time of its own, in which the answers broken off at the end say what they handed over.
/// </summary>
internal sealed class EventService(
    EventQueue queue, IServiceScopeFactory scopes, JobChain chain, ILogger<EventService> log) : BackgroundService
{
    private static readonly TimeSpan CountEvery = TimeSpan.FromSeconds(1);

    /// <summary>How long the last answers may take to end, and then again how long the writing of what they say.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private readonly Channel<bool> _uncounted = Channel.CreateBounded<bool>(
        new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });

    protected override Task ExecuteAsync(CancellationToken stoppingToken)
    {
        // The machine's clock, also where the host is given another: these are pauses of the machine, not of the shop.
        var writer = new EventWriter(queue, WriteAsync, () => _uncounted.Writer.TryWrite(true), TimeProvider.System, log);
        return Task.WhenAll(writer.DrainAsync(stoppingToken), WakeCountAsync(stoppingToken));
    }

    public override async Task StopAsync(CancellationToken cancellationToken)
    {
        var until = TimeProvider.System.GetTimestamp();
        while (!queue.IsQuiet && TimeProvider.System.GetElapsedTime(until) < Patience)
            await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, CancellationToken.None);
        queue.Close();
        using var writing = new CancellationTokenSource(Patience, TimeProvider.System);
        await base.StopAsync(writing.Token);
        await KeepSightingsAsync(writing.Token);
    }

    /// <summary>What was seen since the sweep's last look: no page is looked at any more.</summary>
    private async Task KeepSightingsAsync(CancellationToken cancellationToken)
    {
        try
        {
            await using var scope = scopes.CreateAsyncScope();
            await scope.ServiceProvider.GetRequiredService<KeepSightings>().RunAsync(cancellationToken);
        }
#pragma warning disable CA1031 // Whatever it is, going down goes on.
        catch (Exception fault)
#pragma warning restore CA1031
        {
            log.LogWarning(fault, "What was seen of visits in the last minute could not be written down");
        }
    }

    private async Task WriteAsync(IReadOnlyList<DownloadEvent> batch)
    {
        await using var scope = scopes.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<RecordEvents>().RunAsync(batch, CancellationToken.None);
    }

    /// <summary>The database takes rows again, or this would not run: what did not fit while it stood still is told of.</summary>
    private async Task TellOfLostAsync()
    {
        if (queue.TakeLost() is var lost and > 0)
        {
            await using var scope = scopes.CreateAsyncScope();
            try
            {
                await scope.ServiceProvider.GetRequiredService<RaiseAlert>().RunAsync(AlertKind.DownloadsUncounted, "", LostWords(lost), CancellationToken.None);
            }
            catch
            {
                queue.GiveBackLost(lost);
                throw;
            }
        }
    }

    internal static string LostWords(long pieces) => (pieces == 1
            ? T("1 piece of a download was handed over and not counted: the database stood still for too long. No download was stopped, and all else is counted.")
            : T($"{pieces:N0} pieces of downloads were handed over and not counted: the database stood still for too long. No download was stopped, and all else is counted."))
        + " " + T("A download that was under way then may stay at “started” though it was finished. Nothing can be made up for, but whoever runs the server should look in the shelf’s log, and at its disk, for why the database stood still.");

    private async Task WakeCountAsync(CancellationToken stoppingToken)
    {
        try
        {
            await foreach (var _ in _uncounted.Reader.ReadAllAsync(stoppingToken))
            {
                try
                {
                    chain.CountSoon();
                    await TellOfLostAsync();
                }
#pragma warning disable CA1031 // Whatever it is, counting goes on: the next turn tries again.
                catch (Exception fault)
#pragma warning restore CA1031
                {
                    log.LogWarning(fault, "Download events are written, and the count after them could not be woken; it is with the next ones, or by the sweep");
                }
                await Task.Delay(CountEvery, TimeProvider.System, stoppingToken);
            }
        }
        catch (OperationCanceledException) { /* going down: the sweep at the next start counts what is left */ }
    }
}
