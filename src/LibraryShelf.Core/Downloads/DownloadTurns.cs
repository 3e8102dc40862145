using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Who may download now, and who waits for how long, where <see cref="BandwidthSettings"/> set a limit. A turn belongs to a download, however many
/// connections fetch it. In memory, for this server alone: after a restart everybody asks anew, and who was cut off comes first. Thread-safe.
/// </summary>
/// <remarks>Nothing ticks: places lapse and turns pass on when somebody asks next.</remarks>
public sealed class DownloadTurns(IOptions<ShelfSettings> settings, TimeProvider clock)
{
    /// <summary>Answers below this many bytes wait for nobody.</summary>
    public const long Small = 1 << 20;

    /// <summary>A place not asked for is let go after this.</summary>
    public static readonly TimeSpan PlaceKept = TimeSpan.FromMinutes(5);

    /// <summary>Whose turn has come must begin within this, or the next one does.</summary>
    public static readonly TimeSpan BeginWithin = TimeSpan.FromMinutes(3);

    /// <summary>A download that breaks off keeps its turn for this long.</summary>
    public static readonly TimeSpan Pause = TimeSpan.FromMinutes(1);

    private static readonly TimeSpan TidyEvery = TimeSpan.FromSeconds(1);

    /// <summary>Ends of turns by which the waiting is estimated, and how many tell anything.</summary>
    private const int MostEnds = 16, FewestEnds = 4;

    /// <summary>Downloads that had a turn and were not finished, remembered to be let in before newcomers; about 100 bytes each.</summary>
    private const int MostCutOff = 20_000;

    private readonly Lock door = new();
    private readonly int most = MostAtOnce(settings.Value.Bandwidth);
    private readonly SharedLine? line = settings.Value.Bandwidth.TotalBytesPerSecond is > 0 and var total ? new SharedLine(total, clock) : null;
    private readonly Dictionary<string, RunningDownload> running = new(StringComparer.Ordinal);
    private readonly TurnQueue queue = new();
    private readonly Queue<DateTimeOffset> ends = new();
    private readonly RecentIds cutOff = new(MostCutOff);
    private DateTimeOffset tidiedAt;

    /// <summary>False: no limit is set, and there is nothing to ask.</summary>
    public bool IsLimited => line is not null || most < int.MaxValue;

    /// <summary>An answer of so many bytes is about to go out.</summary>
    /// <param name="downloadId">The download it belongs to.</param>
    /// <param name="bytes">Of this answer.</param>
    /// <param name="resumes">It proves that it goes on from where an earlier one was cut off.</param>
    /// <returns><see cref="TurnOutcome.Runs"/> or <see cref="TurnOutcome.Waits"/>.</returns>
    public TurnOutcome Begin(string downloadId, long bytes, bool resumes)
    {
        if (bytes < Small)
        {
            // It takes what it takes from the others' share, so that the total is held.
            line?.Take(bytes);
            return new TurnOutcome.Runs(new DownloadTurn(this, null, null, clock));
        }
        lock (door)
        {
            var now = Tidy();
            if (!running.TryGetValue(downloadId, out var download))
            {
                var isBack = resumes || cutOff.Has(downloadId);
                if (queue.Ahead(downloadId, isBack) is var ahead && ahead >= most - running.Count)
                    return Wait(downloadId, isBack, ahead, bytes, now);
                queue.Remove(downloadId);
                cutOff.Add(downloadId);
                running[downloadId] = download = new RunningDownload(downloadId);
            }
            (download.Answers, download.LeftAt) = (download.Answers + 1, null);
            return new TurnOutcome.Runs(new DownloadTurn(this, download, line, clock));
        }
    }

    /// <summary>Somebody looks whether it is their turn, and so keeps their place, or is given one.</summary>
    /// <returns><see cref="TurnOutcome.MayBegin"/> or <see cref="TurnOutcome.Waits"/>.</returns>
    public TurnOutcome Ask(string downloadId, long bytes)
    {
        lock (door)
        {
            var now = Tidy();
            if (running.ContainsKey(downloadId))
                return new TurnOutcome.MayBegin(HasBegun: true);
            var isBack = cutOff.Has(downloadId);
            if (queue.Ahead(downloadId, isBack) is var ahead && ahead >= most - running.Count)
                return Wait(downloadId, isBack, ahead, bytes, now);
            queue.Keep(downloadId, isBack, now);
            queue.Call(most - running.Count, now);
            return new TurnOutcome.MayBegin(HasBegun: false);
        }
    }

    /// <summary>Whether it runs or has a place: its link must not run out while it waits.</summary>
    public bool Holds(string downloadId)
    {
        if (!IsLimited)
            return false;
        lock (door)
        {
            Tidy();
            return running.ContainsKey(downloadId) || queue.Has(downloadId);
        }
    }

    internal void End(RunningDownload download)
    {
        lock (door)
        {
            if (--download.Answers > 0)
                return;
            if (!download.IsFinished)
                download.LeftAt = clock.GetUtcNow();
            else
            {
                cutOff.Remove(download.Id);
                Free(download, clock.GetUtcNow());
            }
        }
    }

    private TurnOutcome.Waits Wait(string downloadId, bool isBack, int ahead, long bytes, DateTimeOffset now)
    {
        queue.Keep(downloadId, isBack, now);
        var place = ahead - (most - running.Count) + 1;
        return new TurnOutcome.Waits(place, About(place, bytes, now), AskAgain(place));
    }

    /// <summary>By how often turns ended lately; at first as if everybody wanted as much as this one.</summary>
    private TimeSpan? About(int place, long bytes, DateTimeOffset now) =>
        ends.Count >= FewestEnds ? place * ((now - ends.Peek()) / ends.Count)
        : line is not null ? place * TimeSpan.FromSeconds((double)bytes / line.BytesPerSecond) : null;

    private static TimeSpan AskAgain(int place) => TimeSpan.FromSeconds(place switch { <= 10 => 15, <= 100 => 30, _ => 60 });

    private DateTimeOffset Tidy()
    {
        var now = clock.GetUtcNow();
        if (now - tidiedAt < TidyEvery)
            return now;
        tidiedAt = now;
        foreach (var download in running.Values.Where(r => r.LeftAt <= now - Pause).ToList())
            Free(download, now);
        queue.Lapse(now - PlaceKept, now - BeginWithin);
        queue.Call(most - running.Count, now);
        return now;
    }

    private void Free(RunningDownload download, DateTimeOffset now)
    {
        running.Remove(download.Id);
        ends.Enqueue(now);
        if (ends.Count > MostEnds)
            ends.Dequeue();
        queue.Call(most - running.Count, now);
    }

    private static int MostAtOnce(BandwidthSettings bandwidth)
    {
        var byNumber = bandwidth.MostAtOnce > 0 ? bandwidth.MostAtOnce : int.MaxValue;
        var byShare = bandwidth is { TotalBytesPerSecond: > 0, LeastShare: > 0 } ? bandwidth.TotalBytesPerSecond / bandwidth.LeastShare : int.MaxValue;
        return (int)Math.Max(1, Math.Min(byNumber, byShare));
    }
}
