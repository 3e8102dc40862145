using LibraryShelf.Web.Practice;

namespace LibraryShelf.Web.Endpoints;

/// <summary>Everything reachable that is not a Razor Page, one line each.</summary>
internal static class ShelfEndpoints
{
    public static void MapShelfEndpoints(this WebApplication app)
    {
        app.MapRazorPages();
        app.MapHealth();
        app.MapTus();
        app.MapSend();
        app.MapNumbers();
        app.MapDownloads();
        app.MapSheets();
        app.MapChanges();
        app.MapVersions();
        app.MapKeyprints();
        app.MapListening();
        app.MapFeeds();
        app.MapPayments();
        app.MapMyData();
        app.MapPractice();
    }
}
