using System.Data.Common;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>How far counting anew is, broken off in its midst: what is done stays, and what goes on finishes it.</summary>
public sealed class ReadCountingTests
{
    private static readonly DateTimeOffset At = new(2026, 11, 20, 10, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task Days_of_another_zone_are_counted_one_by_one_and_a_stop_keeps_those_that_are()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await FetchAsync(shelf, days: 3);
        Assert.Null(await FarAsync(shelf));
        await shelf.WithAsync(db =>
        {
            db.Shops.Add(new Shop { TimeZone = "Pacific/Kiritimati" });
            return db.SaveChangesAsync();
        });
        using var off = new CancellationTokenSource();
        // The day's counts are written in the transaction that says that it is rolled up; the second one's is never begun.
        await using (var db = shelf.Temp.Open(new Watch(asked => asked.Contains("\"DownloadTallies\"", StringComparison.Ordinal) && asked.Contains("\"Visitor\"", StringComparison.Ordinal), 2, off)))
            await Assert.ThrowsAnyAsync<OperationCanceledException>(() => new RollUpDays(db, shelf.Temp.Clock).RunAsync(off.Token));
        Assert.Equal(new CountingFar(CountingWhat.Days, 1, 3), await FarAsync(shelf));
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Null(await FarAsync(shelf));
        Assert.Equal(3, await shelf.WithAsync(db => db.DayCounts.SumAsync(c => c.Finished)));
    }

    [Fact]
    public async Task People_are_worked_out_some_at_a_time_and_the_next_run_goes_on_where_it_was()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        foreach (var name in new[] { "ada", "robin", "wren" })
            await shelf.PersonAsync($"{name}@post.example");
        await FetchAsync(shelf, days: 1);
        Task<bool> SomeAsync() => shelf.WithAsync(db => new RollUpVersions(db, shelf.Temp.Clock) { AtATime = 1, MostPieces = 1 }.RunAsync(default));
        Assert.False(await SomeAsync());
        Assert.Equal(new CountingFar(CountingWhat.People, 1, 3), await FarAsync(shelf));
        Assert.False(await SomeAsync());
        Assert.Equal(new CountingFar(CountingWhat.People, 2, 3), await FarAsync(shelf));
        while (!await SomeAsync()) { }
        Assert.Null(await FarAsync(shelf));
    }

    [Fact]
    public async Task Many_new_events_say_how_many_are_counted_and_nothing_of_it_is_left()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await FetchAsync(shelf, days: 5, isCounted: false);
        var watch = new Watch(asked => asked.Contains("INSERT INTO \"WorkProgress\"", StringComparison.Ordinal));
        await using var db = shelf.Temp.Open(watch);
        Assert.Equal(5, await new CountDownloads(db, shelf.Temp.Clock) { PageSize = 2 }.RunAsync(default));
        // The clock stands, so it is written once: after the first page of two.
        Assert.Equal([ProgressNotes.Count, 2, 5], Assert.Single(watch.Said).Take(3));
        // The days they are of are to be counted next.
        Assert.Equal(new CountingFar(CountingWhat.Days, 0, 5), await FarAsync(shelf));
        Assert.Empty(await db.WorkProgress.ToListAsync());
    }

    private static Task<CountingFar?> FarAsync(StockedShelf shelf) => shelf.WithAsync(db => new ReadCounting(db).RunAsync(default));

    /// <summary>One whole download on each of so many days.</summary>
    private static async Task FetchAsync(StockedShelf shelf, int days, bool isCounted = true)
    {
        await shelf.WithAsync(db =>
        {
            for (var i = 0; i < days; i++)
            {
                db.Downloads.Add(new Download { Id = $"d{i}", ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = MayDownloadWhy.Free, Visitor = $"v{i}", StartedAt = At.AddDays(i) });
                db.DownloadEvents.Add(new DownloadEvent { DownloadId = $"d{i}", From = 0, To = shelf.Length, BeginsAnswer = true, At = At.AddDays(i) });
            }
            return db.SaveChangesAsync();
        });
        if (!isCounted)
            return;
        await shelf.WithAsync(db => new CountDownloads(db, shelf.Temp.Clock).RunAsync(default));
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
    }

    /// <summary>Cancels at the so many-th question of a kind; keeps the parameters of statements of it.</summary>
    private sealed class Watch(Func<string, bool> isMeant, int nth = 0, CancellationTokenSource? off = null) : DbCommandInterceptor
    {
        private int met;

        public List<IReadOnlyList<object?>> Said { get; } = [];

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
        {
            if (isMeant(command.CommandText) && ++met == nth)
                off!.Cancel();
            return base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
        }

        public override ValueTask<InterceptionResult<int>> NonQueryExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<int> result, CancellationToken cancellationToken = default)
        {
            if (isMeant(command.CommandText))
                Said.Add([.. command.Parameters.Cast<DbParameter>().Select(p => p.Value)]);
            return base.NonQueryExecutingAsync(command, eventData, result, cancellationToken);
        }
    }
}
