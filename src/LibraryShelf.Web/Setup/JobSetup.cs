using Hangfire;
using Hangfire.InMemory;

namespace LibraryShelf.Web.Setup;

internal static class JobSetup
{
    public static void AddShelfJobs(this WebApplicationBuilder builder)
    {
        builder.Services.AddHangfire(h => h.UseInMemoryStorage(new InMemoryStorageOptions()));
        builder.Services.AddHangfireServer(o => o.WorkerCount = Math.Clamp(Environment.ProcessorCount, 2, 4));
    }
}
