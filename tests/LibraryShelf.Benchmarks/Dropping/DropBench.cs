using System.Diagnostics;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Benchmarks.Dropping;

/// <summary>A month's drop to 20,000 members on SQLite: how long until it stands in the outbox, and how long another writer waits for its turn meanwhile.</summary>
internal static class DropBench
{
    private const int Members = 20_000, QueuedGoal = 10, WaitGoal = 250;

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("drop"));
        await FillAsync(shelf);
        var (queued, waited) = (new List<double>(), new List<double>());
        for (var round = 0; round < bench.Rounds; round++)
        {
            var (seconds, wait) = await RoundAsync(shelf, new YearMonth(2026, 1).PlusMonths(round));
            queued.Add(seconds);
            waited.Add(wait);
        }
        var (longest, longestWait) = (queued.Max(), waited.Max() * 1000);
        bench.Add($"a drop to {Members:N0} members queued on SQLite, the longest", longest, "s", $"< {QueuedGoal}", longest < QueuedGoal);
        bench.Add("  another writer's longest wait meanwhile", longestWait, "ms", $"< {WaitGoal}", longestWait < WaitGoal);
    }

    /// <summary>Half of them pay, half were given a membership.</summary>
    private static async Task FillAsync(Shelf shelf)
    {
        await using var db = shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        foreach (var some in Enumerable.Range(0, Members).Chunk(2000))
        {
            var people = some.Select(n => $"m{n}@post.example").Select(e => new Person
            {
                UserName = e, Email = e, NormalizedEmail = e.ToUpperInvariant(), NormalizedUserName = e.ToUpperInvariant(), SecurityStamp = "bench",
            }).ToList();
            db.Users.AddRange(people);
            await db.SaveChangesAsync();
            db.PaidMemberships.AddRange(people.Where(p => p.Id % 2 == 0).Select(p => new PaidMembership { PersonId = p.Id, ProviderId = $"sub_{p.Id}", StartedAt = now.AddMonths(-12), ActiveUntil = now.AddDays(9) }));
            db.MembershipGrants.AddRange(people.Where(p => p.Id % 2 == 1).Select(p => new MembershipGrant { PersonId = p.Id, From = now.AddMonths(-12) }));
            await db.SaveChangesAsync();
            db.ChangeTracker.Clear();
        }
    }

    private static async Task<(double Queued, double LongestWait)> RoundAsync(Shelf shelf, YearMonth month)
    {
        var drop = await PlannedAsync(shelf, month);
        using var over = new CancellationTokenSource();
        var begun = new TaskCompletionSource();
        // A thread of its own: SQLite makes whoever waits stand still.
        var other = Task.Factory.StartNew(() => WriteOn(shelf, begun, over.Token), TaskCreationOptions.LongRunning);
        await begun.Task;
        await using var db = shelf.Open();
        var start = Stopwatch.GetTimestamp();
        var outcome = await new SendDrop(db, TimeProvider.System, Options.Create(new ShelfSettings())).RunAsync(drop, null, CancellationToken.None);
        var queued = Stopwatch.GetElapsedTime(start).TotalSeconds;
        await over.CancelAsync();
        var longest = await other;
        return outcome is SendDropOutcome.Sent { Mails: Members } ? (queued, longest)
            : throw new InvalidOperationException($"The drop came to {outcome}.");
    }

    private static async Task<long> PlannedAsync(Shelf shelf, YearMonth month)
    {
        await using var db = shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        var library = new Library { Slug = $"kettle-{month.Month}", Title = $"Kettle {month.Month}", DeclaredAt = now };
        var release = new Release { Number = "1.0.0" };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Scheduled })
            if (!release.MoveTo(state, now))
                throw new InvalidOperationException($"A release that can't become {state}.");
        library.Releases.Add(release);
        db.Libraries.Add(library);
        var drop = new Drop { Month = month, DueAt = now };
        db.Drops.Add(drop);
        await db.SaveChangesAsync();
        db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = release.Id });
        await db.SaveChangesAsync();
        return drop.Id;
    }

    /// <summary>Writes a row again and again, each in a transaction of its own, as a download's start does.</summary>
    /// <returns>The longest of these, seconds.</returns>
    private static double WriteOn(Shelf shelf, TaskCompletionSource begun, CancellationToken until)
    {
        var longest = 0.0;
        using var db = shelf.Open();
        db.Database.OpenConnection();
        while (!until.IsCancellationRequested)
        {
            var start = Stopwatch.GetTimestamp();
            db.Users.Where(p => p.Id == 1).ExecuteUpdate(s => s.SetProperty(p => p.AccessFailedCount, p => p.AccessFailedCount + 1));
            // The first has the question worked out.
            if (begun.Task.IsCompleted)
                longest = Math.Max(longest, Stopwatch.GetElapsedTime(start).TotalSeconds);
            begun.TrySetResult();
            until.WaitHandle.WaitOne(1);
        }
        return longest;
    }
}
