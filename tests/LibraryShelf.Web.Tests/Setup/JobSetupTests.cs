using Hangfire;
using LibraryShelf.Web.Jobs;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Setup;

public sealed class JobSetupTests
{
    /// <summary>The sweep, the watch, the reading again and the look at the payment provider.</summary>
    private const long QueuedAtStart = 5;

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

    [Fact]
    public async Task Two_hosts_in_one_process_never_share_a_queue()
    {
        await using var first = new ShelfHost();
        var queue = first.Services.GetRequiredService<JobStorage>();
        await using (var second = new ShelfHost())
            Assert.NotSame(queue, second.Services.GetRequiredService<JobStorage>());

        first.Services.GetRequiredService<JobChain>().SealSoon(1);
        Assert.Equal(1, queue.GetMonitoringApi().EnqueuedCount("default") - QueuedAtStart);
        // The one the whole process shares is not even set up.
        Assert.Throws<InvalidOperationException>(() => JobStorage.Current);
    }
}
