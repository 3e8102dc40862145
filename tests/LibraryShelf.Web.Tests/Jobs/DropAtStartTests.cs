using System.Collections.Concurrent;
using Hangfire;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Tests.Pages.Shelf;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.DependencyInjection.Extensions;

namespace LibraryShelf.Web.Tests.Jobs;

/// <summary>A drop that came due while the program was down, and what its clock says at the next start.</summary>
public sealed class DropAtStartTests : IDisposable
{
    private static readonly DateTimeOffset Today = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("shelf-start-");

    private readonly KeepingMailer mailer = new();

    public void Dispose() => folder.Delete(recursive: true);

    [Theory]
    [InlineData(20, true)]
    [InlineData(400, false)] // two years of it would go in one night
    public async Task Due_while_down_it_goes_once_and_by_a_clock_that_jumped_it_asks(int days, bool goes)
    {
        using var database = new TestDatabase(new DataPaths(folder.FullName).Database).WithTables();
        await using (var before = Host(database, Today, runJobs: false))
            await PlanAsync(before);
        for (var start = 1; start <= 2; start++)
        {
            await using var after = Host(database, Today.AddDays(days), runJobs: true);
            _ = after.Server;
            // The sweep at start, and after it whatever it woke.
            await UntilAsync(() => after.AskDbAsync(db => db.Drops.AnyAsync(d => goes ? d.State == DropState.Sent : d.Trouble != null)));
            await SweptAsync(after);
            var drop = await after.AskDbAsync(db => db.Drops.SingleAsync());
            Assert.Equal(goes ? (DropState.Sent, null) : (DropState.Planned, Today.AddDays(days)), (drop.State, drop.AsksSince));
            Assert.Equal(goes ? 1 : 0, await after.AskDbAsync(db => db.Outbox.CountAsync(m => m.Cause.StartsWith("drop:"))));
            // Over both starts.
            Assert.Equal(goes ? 1 : 0, mailer.Taken.Count(m => m.MessageId.StartsWith("drop.", StringComparison.Ordinal)));
            Assert.Equal(!goes, await after.AskDbAsync(db => db.Alerts.AnyAsync(a => a.Kind == AlertKind.ClockJumped && a.SettledAt == null)));
        }
    }

    [Fact]
    public async Task By_rules_that_changed_it_is_due_otherwise_before_any_job_runs()
    {
        using var database = new TestDatabase(new DataPaths(folder.FullName).Database).WithTables();
        await using (var before = Host(database, Today, runJobs: false))
        {
            await PlanAsync(before);
            await before.WithDbAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, Today.AddDays(6).AddHours(1))));
        }
        await using var after = Host(database, Today.AddDays(1), runJobs: false);
        _ = after.Server;
        var drop = await after.AskDbAsync(db => db.Drops.SingleAsync());
        Assert.Equal((Today.AddDays(6), Today.AddDays(6).AddHours(1)), (drop.DueAt, drop.MovedFrom));
    }

    private ShelfHost Host(TestDatabase database, DateTimeOffset now, bool runJobs) =>
        new() { Clock = new(now), Database = database, RunJobs = runJobs, Settings = { ["Shelf:DataDirectory"] = folder.FullName }, Replace = services => services.Replace(ServiceDescriptor.Singleton<IMailer>(mailer)) };

    /// <summary>December, whole, for one member, on the 1st at noon.</summary>
    private static async Task PlanAsync(ShelfHost host)
    {
        await host.ClaimAsync();
        await host.RunAsync((GrantMembership grant) => grant.RunAsync("dunlin@post.example", null, null, null, default));
        await host.WithDbAsync(async db =>
        {
            var library = await db.AddBoxAsync("Tin Bells", Audience.Members, "struck", "1.0.0");
            var release = new Release { LibraryId = library.Id, Number = "1.1.0" };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Scheduled })
                Assert.True(release.MoveTo(state, ShelfRows.FirstDay));
            var drop = new Drop { Month = new(2026, 12), Title = "Kiln month", Day = "1", Time = "12:00", Zone = "Europe/Lisbon", DueAt = Today.AddDays(6), CreatedAt = Today };
            db.AddRange(release, drop);
            await db.SaveChangesAsync();
            db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = release.Id });
            await db.SaveChangesAsync();
        });
    }

    /// <summary>The first sweep has ended, and what it woke too.</summary>
    private static Task SweptAsync(ShelfHost host) => UntilAsync(() =>
    {
        var jobs = host.Services.GetRequiredService<JobStorage>().GetMonitoringApi();
        var counts = jobs.GetStatistics();
        return Task.FromResult(counts is { Enqueued: 0, Processing: 0, Scheduled: 0 } && jobs.SucceededJobs(0, 1000).Any(j => j.Value.Job?.Type == typeof(SweepJob)));
    });

    private static async Task UntilAsync(Func<Task<bool>> isTrue)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(150));
        while (!await isTrue())
            await Task.Delay(50, patience.Token);
    }

    private sealed class KeepingMailer : IMailer
    {
        public ConcurrentQueue<MailToSend> Taken { get; } = [];

        public Task SendAsync(MailToSend mail, CancellationToken cancellationToken)
        {
            Taken.Enqueue(mail);
            return Task.CompletedTask;
        }
    }
}
