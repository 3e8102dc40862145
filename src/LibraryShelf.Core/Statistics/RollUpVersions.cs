using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Works out anew which versions those people have who finished a download since (<see cref="VersionMark"/>). Safe to repeat and to break off: a few people's rows,
/// the sums and the marks change in one transaction. When the shop's time zone or the rules changed, and after an upgrade from a shelf that kept none of this,
/// everybody's are made anew, by their ids, and a stop goes on where it was.
/// </summary>
public sealed class RollUpVersions(ShelfDb db, TimeProvider clock)
{
    /// <summary>Raised when the same downloads come to other versions.</summary>
    internal const int Rules = 1;

    /// <summary>How far back a version may be dated that was not there when last looked: one that waits for the writer is dated before it is written.</summary>
    private static readonly TimeSpan DatedBack = TimeSpan.FromDays(1);

    /// <summary>People worked out in one transaction, so that SQLite's writer is never held for long.</summary>
    internal int AtATime { get; init; } = 50;

    /// <summary>Transactions in one run, so that new downloads are counted in between while hundreds of thousands of people are made anew.</summary>
    internal int MostPieces { get; init; } = 200;

    /// <returns>False: there is more to do.</returns>
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        if (!await IsLeftAsync(db, cancellationToken))
            return true;
        await BeginAsync(cancellationToken);
        for (var piece = 0; piece < MostPieces; piece++)
            if (!await SomeAsync(cancellationToken))
                return true;
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
            await MarkWhoCameAfterAsync(roll.LookedAt - DatedBack, cancellationToken);
        (roll.Published, roll.LookedAt) = (published, clock.GetUtcNow());
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
    }

    /// <summary>
    /// Whoever first had a library after a version's instant, but was worked out before its row said that it was out, has it down as not out then. It is a moment, so they are few.
    /// </summary>
    private async Task MarkWhoCameAfterAsync(DateTimeOffset since, CancellationToken cancellationToken)
    {
        var people = await (from r in db.Releases
                            where r.PublishedAt != null && r.PublishedAt >= since
                            join v in db.PersonVersions on r.LibraryId equals v.LibraryId
                            where v.FromReleaseId == 0 && v.Since >= r.PublishedAt && v.LatestThenId != r.Id && !db.VersionMarks.Any(m => m.PersonId == v.PersonId)
                            select v.PersonId).Distinct().ToListAsync(cancellationToken);
        db.VersionMarks.AddRange(people.Select(p => new VersionMark { PersonId = p }));
    }

    /// <returns>False: there was nobody.</returns>
    private async Task<bool> SomeAsync(CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var roll = await db.VersionRolls.AsNoTracking().SingleAsync(cancellationToken);
        var people = await db.VersionMarks.OrderBy(m => m.PersonId).Select(m => m.PersonId).Take(AtATime).ToListAsync(cancellationToken);
        if (people.Count == 0)
        {
            if (roll.After is not { } after)
                return false;
            people = await db.Users.Where(p => p.Id > after).OrderBy(p => p.Id).Select(p => p.Id).Take(AtATime).ToListAsync(cancellationToken);
            var next = people.Count == 0 ? (long?)null : people[^1];
            await db.VersionRolls.ExecuteUpdateAsync(s => s.SetProperty(r => r.After, next), cancellationToken);
        }
        await new PersonVersionRows(db, await MarkDays.ZoneAsync(db, cancellationToken)).WriteAsync(people, cancellationToken);
        await db.VersionMarks.Where(m => people.Contains(m.PersonId)).ExecuteDeleteAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return true;
    }
}
