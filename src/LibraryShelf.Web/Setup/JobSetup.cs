using Hangfire;
using Hangfire.AspNetCore;
using Hangfire.Common;
using Hangfire.InMemory;
using LibraryShelf.Core.Checking;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup.Metering;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// The job server: a queue in memory, because row state is the truth and a sweep at start finds what a stop left standing.
/// Its own pages are not served.
/// </summary>
internal static class JobSetup
{
    public static void AddShelfJobs(this WebApplicationBuilder builder)
    {
        // The host's own queue: left to itself, the library takes the one that was last set up in the process, and two hosts in one
        // process (the tests have many) would share it until the other host goes down and takes it along.
        builder.Services.AddSingleton<JobStorage>(_ => new InMemoryStorage(
            new InMemoryStorageOptions { MaxExpirationTime = TimeSpan.FromHours(1) }));
        // Likewise its own services: the library's default makes each job's class from those of the host set up last.
        builder.Services.AddSingleton<JobActivator>(services => new AspNetCoreJobActivator(services.GetRequiredService<IServiceScopeFactory>()));
        builder.Services.AddHangfire(h => h
            .SetDataCompatibilityLevel(CompatibilityLevel.Version_180)
            .UseSimpleAssemblyNameTypeSerializer()
            .UseRecommendedSerializerSettings());
        builder.Services.AddSingleton<FailedJobs>();
        builder.Services.AddSingleton<JobRunNotes>();
        builder.Services.AddSingleton<JobMeter>();
        builder.Services.AddScoped<FaultWords>();
        builder.Services.AddSingleton<ComparisonTurns>();
        builder.Services.AddSingleton<KnownFacts>();
        builder.Services.AddSingleton<CheckEnds>();
        builder.Services.AddScoped<CompareJob>();
        builder.Services.AddScoped<GoneAlerts>();
        builder.Services.AddSingleton<IJobFilterProvider>(services => new JobFilterProviderCollection(
            new JobFilterAttributeFilterProvider(), services.GetRequiredService<FailedJobs>(), new OneAtATime(), services.GetRequiredService<JobRunNotes>(), services.GetRequiredService<JobMeter>()));
        builder.Services.AddHangfireServer(o => (o.Queues, o.WorkerCount) = ([JobQueues.Now], JobQueues.WorkersForNow));
        builder.Services.AddHangfireServer(o => (o.Queues, o.WorkerCount) = ([JobQueues.Now, JobQueues.Work], JobQueues.WorkersForAll));
        builder.Services.AddSingleton<JobChain>();
        builder.Services.AddHostedService<RecurringJobs>();
    }
}
