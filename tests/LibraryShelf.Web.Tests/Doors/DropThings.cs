using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors of drops are knocked at with: each time a month of its own.</summary>
internal sealed class DropThings(DoorWorld world)
{
    public async Task<Knock> ForAsync(DoorRow row)
    {
        if (row.Endpoint == "POST /workbench/drops?handler=Usual")
            return new(row.Method, row.Path) { Fields = [new("UsualDay", $"{1 + (world.Next() % 31)}"), new("UsualTime", "10:00")] };
        var handler = row.Path.Split("handler=").ElementAtOrDefault(1);
        // It was out already: of a shelf restored from a backup, which is held; at no other door of a drop is it.
        DateTimeOffset? held = handler is "WasOut" ? DateTimeOffset.UnixEpoch : null;
        await world.Host.WithDbAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, held)));
        if (handler is "LetGo" or "TakeBack" or "WasOut")
            return new(row.Method, row.Path.Replace("{month}", await WholeAsync(handler), StringComparison.Ordinal)) { Fields = [new("Revision", "0")] };
        var version = handler is "PutIn" or "TakeOut" or "Letter" or "Rehearse" ? await world.DraftAsync() : 0;
        var month = await MonthAsync(row.Path.StartsWith("/workbench/", StringComparison.Ordinal) ? DropState.Planned : DropState.Sent, handler is null or "PutIn" || version == 0 ? null : version, handler is "EndSlip");
        KeyValuePair<string, string>[]? fields = handler switch
        {
            _ when row.IsLook => null,
            "Rehearse" => [],
            "Slip" or "LookSlip" => [new("Revision", "0"), new("Reason", "The kiln broke.")],
            "PutIn" or "TakeOut" => [new("release", $"{version}")],
            "Move" => [new("Revision", "0"), new("to", Text(Fresh()))],
            "Cancel" or "EndSlip" => [new("Revision", "0")],
            "Declare" => [new("slug", await world.LibraryAsync()), new("declares", "true")],
            _ => [new("Revision", "0"), new("Title", "The kiln’s month"), new("Day", "1 friday"), new("Time", "09:00"), new("Zone", "Europe/Lisbon")],
        };
        return new(row.Method, row.Path.Replace("{month}", month, StringComparison.Ordinal)) { Fields = fields, ChangesNothing = handler is "LookSlip" };
    }

    /// <summary>A month that is out, with the one version that is for members.</summary>
    public async Task<string> OutAsync()
    {
        await world.Host.WithDbAsync(db => db.DropReleases.Where(r => r.ReleaseId == world.ForMembers.ReleaseId).ExecuteDeleteAsync());
        return await MonthAsync(DropState.Sent, world.ForMembers.ReleaseId);
    }

    /// <summary>A planned month that lacks nothing: due and asking, on its way at once, or yet to come.</summary>
    private async Task<string> WholeAsync(string handler)
    {
        await world.Host.WithDbAsync(db => db.DropReleases.Where(r => r.ReleaseId == world.ForMembers.ReleaseId).ExecuteDeleteAsync());
        var month = await MonthAsync(DropState.Planned, world.ForMembers.ReleaseId);
        var read = YearMonthPattern.Iso.Parse(month).Value;
        await world.Host.WithDbAsync(async db =>
        {
            var drop = await db.Drops.SingleAsync(d => d.Month == read);
            if (handler == "LetGo")
                (drop.DueAt, drop.AsksSince) = (DateTimeOffset.UnixEpoch, DateTimeOffset.UnixEpoch);
            drop.IsAtOnce = handler == "TakeBack";
            await db.SaveChangesAsync();
        });
        return month;
    }

    private async Task<string> MonthAsync(DropState state, long? release, bool isSlipping = false)
    {
        var month = Fresh();
        await world.Host.WithDbAsync(async db =>
        {
            var drop = new Drop { SlippedAt = isSlipping ? DateTimeOffset.UnixEpoch : null, Month = month, State = state, DueAt = WallClock.At(month.OnDayOfMonth(1), default, DateTimeZone.Utc), SentAt = state == DropState.Sent ? DateTimeOffset.UnixEpoch : null };
            db.Drops.Add(drop);
            await db.SaveChangesAsync();
            if (release is { } id)
                db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = id });
            await db.SaveChangesAsync();
        });
        return Text(month);
    }

    private YearMonth Fresh() => new YearMonth(2100, 1).PlusMonths(world.Next());

    private static string Text(YearMonth month) => YearMonthPattern.Iso.Format(month);
}
