using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>How far the counting of what was counted otherwise, or not yet, is; the first of them that is not done.</summary>
/// <param name="What">Which.</param>
/// <param name="Done">So many of <paramref name="All"/>.</param>
/// <param name="All">There are so many.</param>
public sealed record CountingFar(CountingWhat What, int Done, int All);

public enum CountingWhat
{
    /// <summary>Pieces of downloads that were handed over and are not added up: thousands at once only where nothing was counted for long.</summary>
    Events,
    /// <summary>Days, the newest first; one not counted yet shows nothing.</summary>
    Days,
    /// <summary>People, whose versions are worked out.</summary>
    People,
}

/// <summary>Reads how far counting anew is, by the rows that counting itself goes on from: after a stop it is where it was.</summary>
public sealed class ReadCounting(ShelfDb db)
{
    /// <returns>Null: nothing is counted anew. A day that has only begun is counted in a moment and is none.</returns>
    public async Task<CountingFar?> RunAsync(CancellationToken cancellationToken)
    {
        if (await ProgressNotes.ReadAsync(db, ProgressNotes.Count, cancellationToken) is { } events)
            return new(CountingWhat.Events, events.Done, events.Total);
        if (await db.DayRolls.CountAsync(r => r.Rolled == 0, cancellationToken) is > 1 and var left)
        {
            var all = await db.DayRolls.CountAsync(cancellationToken);
            return new(CountingWhat.Days, all - left, all);
        }
        return await db.VersionRolls.Select(r => r.After).SingleOrDefaultAsync(cancellationToken) is { } after
            ? new(CountingWhat.People, await db.Users.CountAsync(p => p.Id <= after, cancellationToken), await db.Users.CountAsync(cancellationToken)) : null;
    }
}
