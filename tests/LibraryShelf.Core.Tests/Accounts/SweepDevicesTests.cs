using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Accounts;

public sealed class SweepDevicesTests
{
    [Fact]
    public async Task Devices_are_forgotten_ninety_days_after_their_end_or_when_their_cookie_has_run_out()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var wren = await TestPeople.FindOrAddAsync(db, TempAccounts.Wren, shelf.Clock.GetUtcNow());
        var now = shelf.Clock.GetUtcNow();
        foreach (var (words, seenDays, endedDays) in new (string, double, double?)[]
            { ("open", 29, null), ("run out", 31, null), ("ended", 89, 89), ("ended long ago", 91, 91) })
        {
            db.Devices.Add(new Device
            {
                PersonId = wren.Id, Words = words, SignedInAt = now.AddDays(-100), SeenAt = now.AddDays(-seenDays), EndedAt = endedDays is { } days ? now.AddDays(-days) : null,
            });
        }
        await db.SaveChangesAsync();
        Assert.Equal(["open"], (await new ReadDevices(db, shelf.Clock).RunAsync(wren.Id, default)).Select(d => d.Words));
        Assert.Equal(2, await new SweepDevices(db, shelf.Clock).RunAsync(default));
        Assert.Equal(["ended", "open"], await db.Devices.OrderBy(d => d.Words).Select(d => d.Words).ToListAsync());
        Assert.Equal(0, await new SweepDevices(db, shelf.Clock).RunAsync(default));
    }

    [Fact]
    public async Task A_number_of_anothers_device_is_worth_nothing()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var (wren, robin) = (await TestPeople.FindOrAddAsync(db, TempAccounts.Wren, default), await TestPeople.FindOrAddAsync(db, "robin@post.example", default));
        var id = await new StartDevice(db, shelf.Clock).RunAsync(wren.Id, "Firefox on Linux", null, default);
        var see = new SeeDevice(db, shelf.Clock);
        Assert.Null(await see.RunAsync(robin.Id, id, "", default, default)); // a restored backup gives numbers anew
        Assert.Null(await see.RunAsync(wren.Id, id + 1, "", default, default));
        Assert.Equal(id, await see.RunAsync(wren.Id, id, "", default, default));
    }
}
