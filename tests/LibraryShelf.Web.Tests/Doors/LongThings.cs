using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors that stop long work are knocked at with: each time work of its own that is under way.</summary>
internal static class LongThings
{
    private const string Outbox = "/workbench/outbox?handler=";

    public static bool Knows(DoorRow row) => row.Path is Outbox + "Stop" or Outbox + "SendOn" || HandlerOf(row) is
        "StopCheck" or "StopUnpacking" or "StopBackup" or "HoldListening" or "GoOnListening" or "StopComparing" or "StopReading" or "ReadThrough";

    public static async Task<Knock> ForAsync(DoorWorld world, DoorRow row)
    {
        if (row.Path.StartsWith(Outbox, StringComparison.Ordinal))
            return await OfMailsAsync(world, row);
        if (HandlerOf(row) is "StopBackup" or "HoldListening" or "GoOnListening")
            return await OfUpkeepAsync(world, row);
        if (HandlerOf(row) is "StopReading" or "ReadThrough")
            return await OfReadingAsync(world, row);
        if (HandlerOf(row) == "StopComparing")
        {
            var (compared, since) = await world.ComparedAsync();
            await world.Host.WithDbAsync(db => db.ReleaseComparisons.ExecuteUpdateAsync(s => s.SetProperty(c => c.AskedAt, DateTimeOffset.UnixEpoch)));
            return new(row.Method, row.Path.Replace("{id:long}", $"{compared}", StringComparison.Ordinal)) { Fields = [new("since", $"{since}")] };
        }
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

    /// <summary>A backup that is being made; what can be heard of a version, which waits to be made, or does not, because its maker said so.</summary>
    private static async Task<Knock> OfUpkeepAsync(DoorWorld world, DoorRow row)
    {
        var (id, handler) = (world.ForMembers.ReleaseId, HandlerOf(row));
        DateTimeOffset? heldAt = handler == "GoOnListening" ? DateTimeOffset.UnixEpoch : null;
        await world.Host.WithDbAsync(async db =>
        {
            await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.BackupStoppedAt, (DateTimeOffset?)null));
            await db.WorkProgress.ExecuteDeleteAsync();
            if (handler == "StopBackup")
                db.WorkProgress.Add(new WorkProgress { Name = "backup", DoneBytes = 1, TotalBytes = 2, At = DateTimeOffset.UnixEpoch });
            await db.ListeningFiles.Where(f => f.ReleaseId == id).ExecuteDeleteAsync();
            await db.Listenings.Where(l => l.ReleaseId == id).ExecuteDeleteAsync();
            await db.Releases.Where(r => r.Id == id).ExecuteUpdateAsync(s => s.SetProperty(r => r.ListenHeldAt, heldAt));
            await db.SaveChangesAsync();
        });
        return new(row.Method, row.Path.Replace("{id:long}", $"{id}", StringComparison.Ordinal)) { Fields = [] };
    }

    /// <summary>An archive that is to be read through, or whose reading was stopped.</summary>
    private static async Task<Knock> OfReadingAsync(DoorWorld world, DoorRow row)
    {
        var id = await world.SealedAsync();
        DateTimeOffset? stoppedAt = HandlerOf(row) == "ReadThrough" ? DateTimeOffset.UnixEpoch : null;
        await world.Host.WithDbAsync(db => db.Archives.Where(a => a.ReleaseId == id)
            .ExecuteUpdateAsync(s => s.SetProperty(a => a.Sha256, (string?)null).SetProperty(a => a.ReadStoppedAt, stoppedAt)));
        var archive = await world.Host.AskDbAsync(db => db.Archives.Where(a => a.ReleaseId == id).Select(a => a.Id).SingleAsync());
        return new(row.Method, row.Path.Replace("{id:long}", $"{id}", StringComparison.Ordinal)) { Fields = [new("archive", $"{archive}")] };
    }

    private static string? HandlerOf(DoorRow row) => row.Path.Split("handler=").ElementAtOrDefault(1);
}
