using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors that stop long work are knocked at with: each time work of its own that is under way.</summary>
internal static class LongThings
{
    private const string Outbox = "/workbench/outbox?handler=";

    public static bool Knows(DoorRow row) => row.Path is Outbox + "Stop" or Outbox + "SendOn" || HandlerOf(row) is "StopCheck" or "StopUnpacking";

    public static async Task<Knock> ForAsync(DoorWorld world, DoorRow row)
    {
        if (row.Path.StartsWith(Outbox, StringComparison.Ordinal))
            return await OfMailsAsync(world, row);
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

    /// <summary>A letter of a drop that waits for tomorrow; stopped, where it is to be sent on.</summary>
    private static async Task<Knock> OfMailsAsync(DoorWorld world, DoorRow row)
    {
        var drop = 1_000_000L + world.Next();
        await world.Host.WithDbAsync(db =>
        {
            db.Outbox.Add(new OutboxMail { Cause = $"drop:{drop}:1", AboutId = drop, CreatedAt = DateTimeOffset.UnixEpoch, NextTryAt = world.Host.Clock!.GetUtcNow().AddDays(1) });
            if (HandlerOf(row) == "SendOn")
                db.MailHolds.Add(new MailHold { Begins = $"drop:{drop}:", AboutId = drop, At = DateTimeOffset.UnixEpoch });
            return db.SaveChangesAsync();
        });
        return new(row.Method, row.Path) { Fields = [new("kind", "Drop"), new("about", $"{drop}"), new("back", "/workbench")] };
    }

    private static string? HandlerOf(DoorRow row) => row.Path.Split("handler=").ElementAtOrDefault(1);
}
