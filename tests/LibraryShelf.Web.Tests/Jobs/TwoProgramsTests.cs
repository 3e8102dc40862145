using System.Collections.Concurrent;
using System.Globalization;
using Hangfire;
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
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Jobs;

/// <summary>Two programs on one PostgreSQL database, each with its own queue and its own sweep.</summary>
[Trait("Database", "postgres")]
public sealed class TwoProgramsTests : IDisposable
{
    private const int Members = 20, Drops = 4;
    private static readonly DateTimeOffset Today = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("shelf-two-");
    private readonly CountingMailer mailer = new();

    public void Dispose() => folder.Delete(recursive: true);

    [Fact]
    public async Task A_drop_goes_out_once_and_each_of_its_mails_too()
    {
        using var database = new TestDatabase(new DataPaths(folder.FullName).Database).WithTables();
        var clock = new FakeTimeProvider(Today);
        await using var one = Host(database, clock);
        await using var other = Host(database, clock);
        await PlanAsync(one);
        _ = other.Server;
        clock.SetUtcNow(Today.AddDays(6));
        // Both sweeps find them due; and whichever comes first, each program has a job of its own for each.
        var drops = await one.AskDbAsync(db => db.Drops.Select(d => d.Id).ToListAsync());
        foreach (var host in new[] { one, other })
        {
            host.Services.GetRequiredService<IRecurringJobManager>().Trigger("sweep");
            drops.ForEach(host.Services.GetRequiredService<JobChain>().DropSoon);
        }
        await UntilAsync(() => one.AskDbAsync(async db => await db.Drops.AllAsync(d => d.State == DropState.Sent)
            && await db.Outbox.CountAsync(m => m.Cause.StartsWith("drop:") && m.SentAt != null) == Members * Drops));
        // Each has run its own: a job that was taken and is not begun stands in no queue's figures.
        await UntilAsync(() => Task.FromResult(drops.ToHashSet() is var all && all.IsSubsetOf(DropsRunBy(one)) && all.IsSubsetOf(DropsRunBy(other))));
        await QuietAsync(one);
        await QuietAsync(other);

        // Sent twice, a drop would have a second revision, and its version a second publishing.
        Assert.All(await one.AskDbAsync(db => db.Drops.ToListAsync()), d => Assert.Equal((1, null), (d.Revision, d.Trouble)));
        Assert.Equal(Members * Drops, await one.AskDbAsync(db => db.Outbox.CountAsync(m => m.Cause.StartsWith("drop:"))));
        Assert.Equal(Members * Drops, mailer.Taken.Count);
        Assert.All(mailer.Taken, mail => Assert.True(mail.Value == 1, $"{mail.Key} was sent {mail.Value} times"));
        // The boxes are rows without recordings, which the reading through of archives finds.
        var alerts = await one.AskDbAsync(db => db.Alerts.Where(a => !a.Subject.StartsWith("DigestJob")).Select(a => a.Subject + ": " + a.Words).ToListAsync());
        Assert.True(alerts.Count == 0, string.Join("\n", [.. alerts, .. FaultsOf(one), .. FaultsOf(other)]));
    }

    /// <summary>What jobs threw. A job that failed is not run again by its queue, but a later one of its kind may have ended well.</summary>
    private static List<string> FaultsOf(ShelfHost host)
    {
        var queue = host.Services.GetRequiredService<JobStorage>().GetMonitoringApi();
        return [.. queue.FailedJobs(0, 1000).Select(j => $"{j.Value.Job?.Type.Name}: {j.Value.ExceptionDetails}")];
    }

    private ShelfHost Host(TestDatabase database, FakeTimeProvider clock) => new()
    {
        Clock = clock, Database = database, RunJobs = true,
        Settings = { ["Shelf:DataDirectory"] = folder.FullName, ["Shelf:Disk:NearlyFullBytes"] = "0" },
        Replace = services => services.Replace(ServiceDescriptor.Singleton<IMailer>(mailer)),
    };

    /// <summary>Some drops, whole, all due on the 1st at noon.</summary>
    private static async Task PlanAsync(ShelfHost host)
    {
        await host.ClaimAsync();
        List<long> people = [];
        for (var n = 0; n < Members; n++)
            people.Add((await host.PersonAsync($"wren{n}@post.example")).Id);
        await host.WithDbAsync(async db =>
        {
            db.MembershipGrants.AddRange(people.Select(id => new MembershipGrant { PersonId = id, From = Today }));
            for (var n = 0; n < Drops; n++)
            {
                var library = await db.AddBoxAsync($"Tin Bells {n}", Audience.Members, "struck", "1.0.0");
                var release = new Release { LibraryId = library.Id, Number = "1.1.0" };
                foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Scheduled })
                    Assert.True(release.MoveTo(state, ShelfRows.FirstDay));
                var drop = new Drop { Month = new NodaTime.YearMonth(2026, 12).PlusMonths(-n), Title = $"Month {n}", Day = "2026-12-01", Time = "12:00", Zone = "Europe/Lisbon", DueAt = Today.AddDays(6), CreatedAt = Today };
                db.AddRange(release, drop);
                await db.SaveChangesAsync();
                db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = release.Id });
                await db.SaveChangesAsync();
            }
        });
    }

    /// <summary>Which drops its own queue has run a job for, to its end.</summary>
    private static HashSet<long> DropsRunBy(ShelfHost host) => [.. host.Services.GetRequiredService<JobStorage>().GetMonitoringApi().SucceededJobs(0, 1000)
        .Select(j => j.Value.Job).Where(job => job?.Type == typeof(DropJob)).Select(job => Convert.ToInt64(job.Args[0], CultureInfo.InvariantCulture))];

    /// <summary>Whatever its sweep woke has ended.</summary>
    private static Task QuietAsync(ShelfHost host) => UntilAsync(() =>
    {
        var counts = host.Services.GetRequiredService<JobStorage>().GetMonitoringApi().GetStatistics();
        return Task.FromResult(counts is { Enqueued: 0, Processing: 0, Scheduled: 0 });
    });

    private static async Task UntilAsync(Func<Task<bool>> isTrue)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(150));
        while (!await isTrue())
            await Task.Delay(50, patience.Token);
    }

    private sealed class CountingMailer : IMailer
    {
        public ConcurrentDictionary<string, int> Taken { get; } = new(StringComparer.Ordinal);

        public Task SendAsync(MailToSend mail, CancellationToken cancellationToken)
        {
            Taken.AddOrUpdate($"{mail.To}: {mail.Subject}", 1, (_, times) => times + 1);
            return Task.CompletedTask;
        }
    }
}
