using System.Data.Common;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Data;

/// <summary>How far a work is: things and bytes, each of how many; 0 of 0 where it is not counted so.</summary>
public sealed record Progress(int Done, int Total, long DoneBytes, long TotalBytes)
{
    public static Progress OfThings(int done, int total) => new(done, total, 0, 0);

    public static Progress OfBytes(long done, long total) => new(0, 0, done, total);
}

/// <summary>
/// Writes down how far one work is, at most some times a second, each time in a statement of its own: the work's own rows say what is done, this says how far it is.
/// What the database does not take (it is busy, its disk is full) is not told, and the work goes on.
/// </summary>
internal sealed class ProgressNotes(ShelfDb db, TimeProvider clock, string name)
{
    /// <summary>Written at most this often.</summary>
    private static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(300);

    private Progress? written;
    private long writtenAt;

    public static string Unpack(string uploadId) => $"unpack:{uploadId}";

    public static string Compare(long releaseId, long fromReleaseId) => $"compare:{releaseId}:{fromReleaseId}";

    public static string Listen(long releaseId) => $"listen:{releaseId}";

    /// <summary>What the names of <see cref="Digest"/> begin with.</summary>
    public const string Digests = "digest:";

    public static string Digest(long archiveId) => $"{Digests}{archiveId}";

    public static string Music(long libraryId) => $"music:{libraryId}";

    /// <summary>New pieces of downloads.</summary>
    public const string Count = "count";

    public const string Backup = "backup";

    /// <returns>Null: nothing is noted of this work.</returns>
    public static async Task<Progress?> ReadAsync(ShelfDb db, string name, CancellationToken cancellationToken) =>
        await db.WorkProgress.Where(p => p.Name == name).Select(p => new { p.Done, p.Total, p.DoneBytes, p.TotalBytes }).FirstOrDefaultAsync(cancellationToken) is { } row
            ? new Progress(row.Done, row.Total, row.DoneBytes, row.TotalBytes) : null;

    /// <summary>False, and nothing is done: it was written a moment ago.</summary>
    public async Task<bool> SayAsync(Progress now, CancellationToken cancellationToken)
    {
        if (writtenAt != 0 && clock.GetElapsedTime(writtenAt) < Pause)
            return false;
        await WriteAsync(now, cancellationToken);
        return true;
    }

    /// <summary>The same of work that whoever waits for it can stop, and that is over when this is.</summary>
    /// <param name="work">Begun here; ends soon after its token is cancelled.</param>
    /// <param name="now">How far it is.</param>
    /// <param name="goesOn">Asked of the database some times a second: false stops the work.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <exception cref="WorkStoppedException">It was stopped.</exception>
    public async Task<T> FollowAsync<T>(Func<CancellationToken, Task<T>> work, Func<Progress> now, Func<CancellationToken, Task<bool>> goesOn, CancellationToken cancellationToken)
    {
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        try
        {
            var done = await FollowAsync(work(stop.Token), now, cancellationToken, LookAsync);
            // Stopped in its last moment, or without noticing.
            await LookAsync();
            return stop.IsCancellationRequested ? throw new WorkStoppedException(name) : done;
        }
        catch (OperationCanceledException) when (stop.IsCancellationRequested && !cancellationToken.IsCancellationRequested)
        {
            throw new WorkStoppedException(name);
        }

        Task LookAsync() => TryAsync(async () =>
        {
            if (!await goesOn(cancellationToken))
                await stop.CancelAsync();
        });
    }

    /// <summary>While <paramref name="work"/> runs on a thread of its own, and uses the database for nothing, writes down what <paramref name="now"/> says.</summary>
    public async Task<T> FollowAsync<T>(Task<T> work, Func<Progress> now, CancellationToken cancellationToken, Func<Task>? look = null)
    {
        using var over = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        try
        {
            // The delay is over at once when it is cancelled: without this it would not wait any more, but spin until the work has noticed too.
            while (!work.IsCompleted && !cancellationToken.IsCancellationRequested)
            {
                if (now() is { } at and not { Total: 0, TotalBytes: 0 } && at != written)
                    await WriteAsync(at, cancellationToken);
                if (look is not null)
                    await look();
                await Task.WhenAny(work, Task.Delay(Pause, clock, over.Token));
            }
        }
        finally
        {
            await over.CancelAsync();
            // The caller may use the database again only when nobody else does; the work's own end is thrown below.
            await ((Task)work).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
        return await work;
    }

    /// <summary>The work is over, however it ended.</summary>
    public Task EndAsync() => TryAsync(() => db.WorkProgress.Where(p => p.Name == name).ExecuteDeleteAsync(CancellationToken.None));

    private Task WriteAsync(Progress now, CancellationToken cancellationToken)
    {
        var at = clock.GetUtcNow().ToUnixTimeMilliseconds();
        (written, writtenAt) = (now, clock.GetTimestamp());
        return TryAsync(() => db.Database.ExecuteSqlAsync($"""
            INSERT INTO "WorkProgress" ("Name", "Done", "Total", "DoneBytes", "TotalBytes", "At")
            VALUES ({name}, {now.Done}, {now.Total}, {now.DoneBytes}, {now.TotalBytes}, {at})
            ON CONFLICT ("Name") DO UPDATE SET "Done" = excluded."Done", "Total" = excluded."Total", "DoneBytes" = excluded."DoneBytes",
                "TotalBytes" = excluded."TotalBytes", "At" = excluded."At"
            """, cancellationToken));
    }

    private static async Task TryAsync(Func<Task> write)
    {
        try
        {
            await write();
        }
        catch (Exception e) when (e is DbException or { InnerException: DbException })
        {
            // How far a work is, is not worth the work; the database's own log has what it said.
        }
    }
}

/// <summary>Whoever waits for a work said that it is not to go on.</summary>
internal sealed class WorkStoppedException(string message) : Exception(message);
