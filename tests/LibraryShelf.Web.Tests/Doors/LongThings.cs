using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors that stop long work are knocked at with: each time work of its own that is under way.</summary>
internal static class LongThings
{
    public static bool Knows(DoorRow row) => HandlerOf(row) is "StopCheck" or "StopUnpacking";

    public static async Task<Knock> ForAsync(DoorWorld world, DoorRow row)
    {
        var id = await world.DraftAsync();
        await world.Host.WithDbAsync(async db =>
        {
            if (HandlerOf(row) == "StopCheck")
                await db.Releases.Where(r => r.Id == id).ExecuteUpdateAsync(s => s.SetProperty(r => r.CheckAskedAt, DateTimeOffset.UnixEpoch));
            else
                db.Uploads.Add(new Upload { Id = UploadDesk.NewId(), ReleaseId = id, Kind = UploadKind.Zip, Path = "kettle.zip", FinishedAt = DateTimeOffset.UnixEpoch });
            await db.SaveChangesAsync();
        });
        return new(row.Method, row.Path.Replace("{id:long}", $"{id}", StringComparison.Ordinal)) { Fields = [] };
    }

    private static string? HandlerOf(DoorRow row) => row.Path.Split("handler=").ElementAtOrDefault(1);
}
