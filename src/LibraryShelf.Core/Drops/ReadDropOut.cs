using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>A month's drop that is out, for everybody to read. Its versions are those that are on the shelf.</summary>
public sealed record DropOut(YearMonth Month, string Title, string Note, DateTimeOffset SentAt, IReadOnlyList<DropVersion> Versions);

/// <summary>Reads a month's drop once it is out; null before, and for a month without one: nobody sees what is only planned.</summary>
public sealed class ReadDropOut(ShelfDb db, TimeProvider clock)
{
    public async Task<DropOut?> RunAsync(YearMonth month, CancellationToken cancellationToken) =>
        await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Month == month && d.State == DropState.Sent, cancellationToken) is { } drop
            ? await DropsOut.OfAsync(db, drop, clock.GetUtcNow(), cancellationToken)
            : null;
}

internal static class DropsOut
{
    /// <param name="db">Where to read.</param>
    /// <param name="drop">One that is out.</param>
    /// <param name="now">For whom a library is at this instant.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public static async Task<DropOut> OfAsync(ShelfDb db, Drop drop, DateTimeOffset now, CancellationToken cancellationToken) => new(
        drop.Month, drop.Title, drop.Note, drop.SentAt!.Value,
        [.. (await DropVersions.LoadAsync(db, [drop.Id], now, cancellationToken))[drop.Id].Where(v => v.State == ReleaseState.Published)]);
}
