using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Endpoints;

internal static class HealthEndpoints
{
    /// <summary>200 once the shelf can answer from its database; 503 before.</summary>
    public static void MapHealth(this WebApplication app) =>
        app.MapGet("/health/ready", async (ShelfDb db, CancellationToken ct) =>
            await db.Database.CanConnectAsync(ct) && await db.Shops.CountAsync(ct) >= 0
                ? Results.Text("ready\n")
                : Results.StatusCode(StatusCodes.Status503ServiceUnavailable));
}
