using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>How the doors of upkeep are knocked at.</summary>
internal static class UpkeepThings
{
    public static bool Knows(DoorRow row) => row.Endpoint == "POST /workbench?handler=GoOn" || (row.Path.StartsWith("/workbench/jobs", StringComparison.Ordinal) && !LongThings.Knows(row));

    public static async Task<Knock> ForAsync(ShelfHost host, DoorRow row)
    {
        var knock = new Knock(row.Method, row.Path);
        switch (row.Name)
        {
            // A shelf restored from a backup, which the maker says is the one shelf.
            case "POST /workbench?handler=GoOn":
                await host.WithDbAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, DateTimeOffset.UnixEpoch)));
                return knock with { Fields = [new("throwAway", "true")] };
            // The queue is no memory of the shelf's.
            case "POST /workbench/jobs?handler=Run":
                return knock with { Fields = [new("job", "CountJob")], ChangesNothing = true };
            default:
                return knock;
        }
    }
}
