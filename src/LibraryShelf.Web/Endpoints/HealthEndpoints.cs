using System.Data.Common;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Endpoints;

internal static class HealthEndpoints
{
    /// <summary>200 once the shelf can answer from its database; 503 before.</summary>
    public static void MapHealth(this WebApplication app) =>
        app.MapGet("/health/ready", async (ShelfDb db, CancellationToken ct) =>
            await CanAnswerAsync(db, ct)
                ? Results.Text("ready\n")
                : Results.StatusCode(StatusCodes.Status503ServiceUnavailable));

    private static async Task<bool> CanAnswerAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        try
        {
            await db.Shops.AnyAsync(cancellationToken);
            return true;
        }
        // EF Core wraps what a server that went away makes of a connection.
        catch (Exception e) when (e is DbException or InvalidOperationException { InnerException: DbException })
        {
            return false;
        }
    }
}
