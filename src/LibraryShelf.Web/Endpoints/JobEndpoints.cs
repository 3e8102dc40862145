using Hangfire;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Routing;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// The queue's own pages, for the maker, to look at. Nothing can be pressed there: what is undone says its row, not the queue, and
/// <c>/workbench/jobs</c> has the buttons. They are held by our own headers as every page is; the little they style in place is not shown.
/// </summary>
internal static class JobEndpoints
{
    public static void MapJobs(this WebApplication app)
    {
        var options = new DashboardOptions
        {
            AppPath = "/workbench/jobs",
            DashboardTitle = T("Queue"),
            DisplayStorageConnectionString = false,
            IsReadOnlyFunc = _ => true,
            DarkModeEnabled = true,
            // Asks by POST, which is not answered here: milliseconds, 24 days.
            StatsPollingInterval = int.MaxValue,
        };
        app.MapHangfireDashboardWithAuthorizationPolicy(Policies.Maker, "/workbench/jobs/queue", options)
            .WithMetadata(new HttpMethodMetadata([HttpMethods.Get]));
    }
}
