using System.Collections.Concurrent;
using Hangfire;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace LibraryShelf.Web.Tests.Jobs;

/// <summary>Jobs run by the real queue, with its filters.</summary>
public sealed class FailedJobsTests
{
    [Fact]
    public async Task A_job_that_throws_is_logged_once_and_raised_and_its_next_success_settles_it()
    {
        var errors = new Errors();
        var answers = new Answers();
        await using var host = Host(answers, errors);
        answers.Next = _ => throw new InvalidOperationException("a bug");
        Enqueue(host, 7);
        var alert = await UntilAsync(host, a => a is { SettledAt: null });
        Assert.Equal((AlertKind.JobFailed, "Odd(7)", 1), (alert.Kind, alert.Subject, alert.Times));
        Assert.DoesNotContain("a bug", alert.Words, StringComparison.Ordinal);
        Assert.Contains("“Odd(7)”", alert.Words, StringComparison.Ordinal);
        var logged = Assert.Single(errors.Seen);
        Assert.Equal(("Odd(7) failed", "a bug"), (logged.Words, logged.Fault?.Message));

        answers.Next = _ => "The work stands still. Do this.";
        Enqueue(host, 7);
        Assert.Equal("The work stands still. Do this.", (await UntilAsync(host, a => a is { Times: 2 })).Words);
        answers.Next = _ => null;
        Enqueue(host, 8);
        Enqueue(host, 7);
        await UntilAsync(host, a => a is { SettledAt: not null });
        Assert.Equal(1, await host.AskDbAsync<int>(db => db.Alerts.CountAsync()));
    }

    [Fact]
    public async Task A_check_that_breaks_off_says_which_release_and_where_to_look()
    {
        await using var host = Host(new Answers(), new Errors(), services => services.AddSingleton<Core.Storage.IBlobStore>(new BrokenStore()));
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.WithDbAsync(async db =>
        {
            db.Blobs.Add(new Core.Storage.Blob { Sha256 = "a" });
            db.ReleaseFiles.Add(new Core.Intake.ReleaseFile { ReleaseId = id, Path = "a.wav", Sha256 = "a" });
            (await db.Releases.SingleAsync()).CheckAskedAt = DateTimeOffset.UnixEpoch;
            await db.SaveChangesAsync();
        });
        host.Services.GetRequiredService<Web.Jobs.JobChain>().CheckSoon(id);
        var alert = await UntilAsync(host, a => a is { SettledAt: null });
        Assert.StartsWith("The check of Mended Kettle 1.0.0 broke off. Everything sent is kept", alert.Words, StringComparison.Ordinal);
        var page = await maker.PageAsync("/workbench");
        Assert.Equal($"/workbench/releases/{id}", page.QuerySelector("article.notice a")!.GetAttribute("href"));
    }

    [Fact]
    public async Task A_database_that_refuses_the_alert_stops_no_worker()
    {
        var errors = new Errors();
        var answers = new Answers { Next = _ => throw new InvalidOperationException("a bug") };
        await using var host = Host(answers, errors);
        await host.WithDbAsync(db => db.Database.ExecuteSqlRawAsync("DROP TABLE \"Alerts\""));
        for (var i = 0; i < 10; i++)
            Enqueue(host, i);
        await WaitAsync(() => Task.FromResult(answers.Runs == 10 && errors.Seen.Count(e => e.Words.EndsWith("could not be kept", StringComparison.Ordinal) && e.Words.Contains("Odd")) == 10));
    }

    /// <summary>
    /// Performed as the queue's workers would, with its filters, on threads of the test's own: whether a second worker is free is not what
    /// is asked.
    /// </summary>
    [Fact]
    public async Task A_job_woken_while_it_runs_is_queued_once_more_afterwards()
    {
        var answers = new Answers();
        using var started = new SemaphoreSlim(0);
        var goOn = new TaskCompletionSource<string?>(TaskCreationOptions.RunContinuationsAsynchronously);
        answers.NextAsync = _ =>
        {
            started.Release();
            return goOn.Task;
        };
        await using var host = new ShelfHost { Replace = services => services.AddSingleton(answers) };
        var queue = host.Services.GetRequiredService<JobStorage>();
        var waiting = queue.GetMonitoringApi().EnqueuedCount("default");
        var performer = new Hangfire.Server.BackgroundJobPerformer(
            host.Services.GetRequiredService<Hangfire.Common.IJobFilterProvider>(), host.Services.GetRequiredService<JobActivator>(), TaskScheduler.Default);
        void Perform(string id)
        {
            using var connection = queue.GetConnection();
            performer.Perform(new Hangfire.Server.PerformContext(
                queue, connection, new BackgroundJob(id, Hangfire.Common.Job.FromExpression<Odd>(job => job.RunAsync(7)), TimeProvider.System.GetUtcNow().UtcDateTime),
                new JobCancellationToken(canceled: false)));
        }

        var first = Task.Factory.StartNew(() => Perform("1"), CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
        Assert.True(await started.WaitAsync(TimeSpan.FromSeconds(60)));
        // Three wake-ups, all swallowed while the first runs, and together worth one more run.
        foreach (var id in new[] { "2", "3", "4" })
            Perform(id);
        Assert.Equal((1, waiting), (answers.Runs, queue.GetMonitoringApi().EnqueuedCount("default")));
        goOn.SetResult(null);
        await first.WaitAsync(TimeSpan.FromSeconds(60));
        Assert.Equal((1, waiting + 1), (answers.Runs, queue.GetMonitoringApi().EnqueuedCount("default")));
    }

    private static ShelfHost Host(Answers answers, Errors errors, Action<IServiceCollection>? more = null)
    {
        var host = new ShelfHost
        {
            RunJobs = true,
            Settings = { ["Shelf:Disk:NearlyFullBytes"] = "0" },
            Replace = services =>
            {
                services.AddSingleton(answers);
                services.AddSingleton<ILoggerProvider>(errors);
                more?.Invoke(services);
            },
        };
        _ = host.Server;
        return host;
    }

    private static void Enqueue(ShelfHost host, long id) =>
        host.Services.GetRequiredService<IBackgroundJobClient>().Enqueue<Odd>(job => job.RunAsync(id));

    private static async Task<Alert> UntilAsync(ShelfHost host, Func<Alert?, bool> isSo)
    {
        Alert? alert = null;
        await WaitAsync(async () => isSo(alert = await host.AskDbAsync<Alert?>(db => db.Alerts.AsNoTracking().SingleOrDefaultAsync())));
        return alert!;
    }

    private static async Task WaitAsync(Func<Task<bool>> isTrue)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (!await isTrue())
            await Task.Delay(50, patience.Token);
    }

    /// <summary>A job that does as told.</summary>
    public sealed class Odd(Answers answers)
    {
        public Task<string?> RunAsync(long id) => answers.RunAsync(id);
    }

    public sealed class Answers
    {
        private int runs;

        public Func<long, Task<string?>> NextAsync { get; set; } = _ => Task.FromResult<string?>(null);

        public Func<long, string?> Next
        {
            set => NextAsync = id => Task.FromResult(value(id));
        }

        public int Runs => Volatile.Read(ref runs);

        internal Task<string?> RunAsync(long id)
        {
            Interlocked.Increment(ref runs);
            return NextAsync(id);
        }
    }

    private sealed class BrokenStore : Core.Storage.IBlobStore
    {
        public Task<Core.Storage.StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken) => throw new NotSupportedException();

        public Task AdoptAsync(string filePath, Core.Storage.StoredBytes bytes, CancellationToken cancellationToken) => throw new NotSupportedException();

        public Stream Open(string sha256) => throw new InvalidOperationException("a bug");

        public bool Has(string sha256) => true;

        public string? LocalPath(string sha256) => null;

        public IEnumerable<string> UntouchedSince(DateTimeOffset before) => throw new NotSupportedException();

        public bool Remove(string sha256, DateTimeOffset before) => throw new NotSupportedException();

        public void ClearUnfinished(DateTimeOffset before) => throw new NotSupportedException();
    }

    private sealed class Errors : ILoggerProvider, ILogger
    {
        public ConcurrentQueue<(string Words, Exception? Fault)> Seen { get; } = [];

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Error;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
            if (IsEnabled(logLevel))
                Seen.Enqueue((formatter(state, exception), exception));
        }

        public void Dispose()
        {
        }
    }
}
