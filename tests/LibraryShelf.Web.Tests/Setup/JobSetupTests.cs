using Hangfire;
using LibraryShelf.Core.Mail;
using LibraryShelf.Web.Jobs;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Setup;

public sealed class JobSetupTests
{
    /// <summary>Of the queue for work: the reading again, the look at the payment provider and the forgetting.</summary>
    private const long QueuedAtStart = 3;

    [Fact]
    public async Task Each_hosts_jobs_are_made_from_its_own_services_whichever_was_set_up_last()
    {
        await using var first = new ShelfHost();
        await using var second = new ShelfHost();
        _ = (first.Server, second.Server);
        foreach (var host in new[] { first, second })
        {
            using var scope = host.Services.GetRequiredService<JobActivator>().BeginScope((JobActivatorContext)null!);
            Assert.Same(host.Services.GetRequiredService<JobChain>(), scope.Resolve(typeof(JobChain)));
        }
    }

    /// <summary>A mail is written while every worker of the other queue stands in a job that does not end.</summary>
    [Fact]
    public async Task What_somebody_waits_for_is_done_while_all_other_workers_are_held()
    {
        Held.Begun = new SemaphoreSlim(0);
        await using var host = new ShelfHost { RunJobs = true, Replace = services => services.AddScoped<Held>() };
        var jobs = host.Services.GetRequiredService<IBackgroundJobClient>();
        for (var i = 0; i < JobQueues.WorkersForAll; i++)
        {
            var each = (long)i;
            jobs.Enqueue<Held>(job => job.RunAsync(each, CancellationToken.None));
        }
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        for (var i = 0; i < JobQueues.WorkersForAll; i++)
            await Held.Begun.WaitAsync(patience.Token);

        await host.WithDbAsync(async db =>
        {
            db.Outbox.Add(new OutboxMail { Cause = "a", To = "ada@tinworks.example", Subject = "s", Text = "b" });
            await db.SaveChangesAsync();
        });
        host.Services.GetRequiredService<JobChain>().MailSoon();
        while (!await host.AskDbAsync(db => db.Outbox.AnyAsync(m => m.SentAt != null)))
            await Task.Delay(20, patience.Token);
        Assert.Equal(JobQueues.WorkersForAll, host.Services.GetRequiredService<JobStorage>().GetMonitoringApi().ProcessingJobs(0, 50).Count(j => j.Value.Job.Type == typeof(Held)));
    }

    private sealed class Held
    {
        public static SemaphoreSlim Begun { get; set; } = new(0);

        public async Task RunAsync(long id, CancellationToken cancellationToken)
        {
            Begun.Release();
            // Ends with the host.
            await Task.Delay(Timeout.Infinite, cancellationToken);
        }
    }

    [Fact]
    public async Task Two_hosts_in_one_process_never_share_a_queue()
    {
        await using var first = new ShelfHost();
        var queue = first.Services.GetRequiredService<JobStorage>();
        await using (var second = new ShelfHost())
            Assert.NotSame(queue, second.Services.GetRequiredService<JobStorage>());

        first.Services.GetRequiredService<JobChain>().SealSoon(1);
        Assert.Equal(1, queue.GetMonitoringApi().EnqueuedCount(JobQueues.Work) - QueuedAtStart);
        // The one the whole process shares is not even set up.
        Assert.Throws<InvalidOperationException>(() => JobStorage.Current);
    }
}
