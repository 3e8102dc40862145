using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Drops;

/// <summary>Keeps the day and time on which drops usually go out, in the shop's zone. Those planned already keep theirs.</summary>
public sealed class SetUsualDay(ShelfDb db)
{
    /// <param name="day">As <see cref="DropDay"/> writes it, and no single date.</param>
    /// <param name="time">"09:00".</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    /// <returns>What is wrong; empty: it is kept.</returns>
    public async Task<IReadOnlyList<Refusal>> RunAsync(string? day, string? time, CancellationToken cancellationToken)
    {
        List<Refusal> refusals = [];
        if (DropDay.Read(day) is not { } read || read is DropDay.Dated)
            refusals.Add(new("UsualDay", T("Choose the day from the list.")));
        if (WallClock.Read(time) is null)
            refusals.Add(new("UsualTime", T("That is no time of day. It looks like 09:00.")));
        if (refusals.Count > 0)
            return refusals;
        var (kept, at) = (DropDay.Read(day)!.ToString()!, time!.Trim());
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.DropDay, kept).SetProperty(x => x.DropTime, at), cancellationToken);
        return refusals;
    }
}
