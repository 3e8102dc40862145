using System.Diagnostics;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Works out anew which versions of a library those people have who finished a download of it since (<see cref="VersionMark"/>). Safe to repeat and to break off: a few people's rows,
/// the sums and the marks change in one transaction. When the shop's time zone or the rules changed, and after an upgrade from a shelf that kept none of this,
/// everybody's are made anew, by their ids, and a stop goes on where it was.
/// </summary>
public sealed class RollUpVersions(ShelfDb db, TimeProvider clock)
{
    /// <summary>Raised when the same downloads come to other versions.</summary>
    internal const int Rules = 1;

    /// <summary>How far back a version may be dated that was not there when last looked: one that waits for the writer is dated before it is written.</summary>
    private static readonly TimeSpan DatedBack = TimeSpan.FromDays(1);

    /// <summary>So many people at first, and no more than so many, are worked out in one transaction; of every library no more than at first: on a shelf of 20 million downloads each has hundreds, of one library few.</summary>
    private const int First = 50;

    internal static readonly Pace Pieces = new(Smallest: 5, Largest: 800);

    /// <summary>People worked out in one transaction. Null: as many as the writer is not held for long by.</summary>
    internal int? AtATime { get; init; }

    /// <summary>Transactions in one run, so that new downloads are counted in between while hundreds of thousands of people are made anew.</summary>
    internal int MostPieces { get; init; } = 200;

    /// <returns>False: there is more to do.</returns>
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        if (!await IsLeftAsync(db, cancellationToken))
            return true;
        await BeginAsync(cancellationToken);
        var size = AtATime ?? First;
        for (var piece = 0; piece < MostPieces; piece++)
        {
            if (await SomeAsync(size, cancellationToken) is not { } held)
                return true;
            size = AtATime ?? Pieces.After(size, held);
        }
        return !await IsLeftAsync(db, cancellationToken);
    }

    /// <summary>Whether anybody's versions are to be worked out.</summary>
    internal static async Task<bool> IsLeftAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        if (await db.VersionMarks.AnyAsync(cancellationToken))
            return true;
        var roll = await db.VersionRolls.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        return roll is null ? await db.DownloadTallies.AnyAsync(t => t.FinishedAt != null, cancellationToken)
            : roll.After is not null || roll.By != await ByAsync(db, cancellationToken) || roll.Published != await PublishedAsync(db, cancellationToken);
    }

    private static async Task<string> ByAsync(ShelfDb db, CancellationToken cancellationToken) => $"{Rules} {(await MarkDays.ZoneAsync(db, cancellationToken)).Id}";

    private static Task<int> PublishedAsync(ShelfDb db, CancellationToken cancellationToken) => db.Releases.CountAsync(r => r.PublishedAt != null, cancellationToken);

    /// <summary>Everybody's from the first on, where these are other rules or another zone; and marks whom a version that came out since concerns.</summary>
    private async Task BeginAsync(CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var by = await ByAsync(db, cancellationToken);
        if (await db.VersionRolls.SingleOrDefaultAsync(cancellationToken) is not { } roll)
            db.VersionRolls.Add(roll = new VersionRoll());
        var published = await PublishedAsync(db, cancellationToken);
        if (roll.By != by)
            (roll.By, roll.After) = (by, 0);
        else if (roll.Published != published)
        {
            var since = roll.LookedAt - DatedBack;
            await OutBefore.MarkAsync(db, db.Releases.Where(r => r.PublishedAt >= since), cancellationToken);
        }
        (roll.Published, roll.LookedAt) = (published, clock.GetUtcNow());
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
    }

    /// <returns>How long nobody else could write; null: there was nobody.</returns>
    private async Task<TimeSpan?> SomeAsync(int atATime, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var begun = Stopwatch.GetTimestamp();
        var roll = await db.VersionRolls.AsNoTracking().SingleAsync(cancellationToken);
        var marks = await db.VersionMarks.AsNoTracking().OrderBy(m => m.LibraryId).ThenBy(m => m.PersonId).Take(atATime).ToListAsync(cancellationToken);
        var rows = new PersonVersionRows(db, await MarkDays.ZoneAsync(db, cancellationToken));
        foreach (var some in marks.Take(marks is [{ LibraryId: 0 }, ..] ? First : Pieces.Largest).GroupBy(m => m.LibraryId))
        {
            var people = some.Select(m => m.PersonId).ToArray();
            await rows.WriteAsync(people, some.Key == 0 ? null : some.Key, cancellationToken);
            await db.VersionMarks.Where(m => m.LibraryId == some.Key && EF.Parameter(people).Contains(m.PersonId)).ExecuteDeleteAsync(cancellationToken);
        }
        if (marks.Count == 0)
        {
            if (roll.After is not { } after)
                return null;
            var people = await db.Users.Where(p => p.Id > after).OrderBy(p => p.Id).Select(p => p.Id).Take(Math.Min(atATime, First)).ToListAsync(cancellationToken);
            var next = people.Count == 0 ? (long?)null : people[^1];
            await db.VersionRolls.ExecuteUpdateAsync(s => s.SetProperty(r => r.After, next), cancellationToken);
            await rows.WriteAsync(people, libraryId: null, cancellationToken);
        }
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return Stopwatch.GetElapsedTime(begun);
    }
}
