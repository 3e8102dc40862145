using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors of upkeep are knocked at with.</summary>
internal static class UpkeepThings
{
    /// <summary>A shelf restored from a backup, which the maker may say is the one shelf.</summary>
    public static async Task<Knock> GoOnAsync(ShelfHost host, DoorRow row)
    {
        await host.WithDbAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, DateTimeOffset.UnixEpoch)));
        return new Knock(row.Method, row.Path) { Fields = [new("throwAway", "true")] };
    }

    public static Knock Jobs(DoorRow row) => row.Name switch
    {
        // The queue is no memory of the shelf's.
        "POST /workbench/jobs?handler=Run" => new(row.Method, row.Path) { Fields = [new("job", "CountJob")], ChangesNothing = true },
        "GET /workbench/jobs/queue/{**path} (the first page)" => new(row.Method, "/workbench/jobs/queue"),
        "GET /workbench/jobs/queue/{**path} (what is under way)" => new(row.Method, "/workbench/jobs/queue/jobs/processing"),
        _ => new(row.Method, row.Path),
    };
}
