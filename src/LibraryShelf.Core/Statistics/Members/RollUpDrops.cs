using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>
/// Rolls up how each drop that is out was taken, where something of it was finished since, and of a young one each day, because who was a member then may come out
/// otherwise when a payment is told late or paid back. Safe to repeat and to break off: a drop's row is written whole.
/// </summary>
public sealed class RollUpDrops(ShelfDb db, TimeProvider clock)
{
    /// <summary>On a drop's day something is finished each second, and rolling up reads all of its members.</summary>
    internal TimeSpan Pause { get; init; } = TimeSpan.FromMinutes(5);

    private static readonly TimeSpan Again = TimeSpan.FromDays(1), Young = TimeSpan.FromDays(60);

    /// <returns>How many were rolled up.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var due = await DueAsync(db, clock.GetUtcNow(), Pause, cancellationToken);
        foreach (var drop in due)
            await RollUpAsync(drop, cancellationToken);
        return due.Count;
    }

    internal static async Task<List<Drop>> DueAsync(ShelfDb db, DateTimeOffset now, TimeSpan pause, CancellationToken cancellationToken)
    {
        var (recent, yesterday, young) = (now - pause, now - Again, now - Young);
        return await (
            from d in db.Drops.AsNoTracking()
            where d.State == DropState.Sent && d.SentAt != null
            join u in db.DropUptakes on d.Id equals u.DropId into uptakes
            from u in uptakes.DefaultIfEmpty()
            where u == null || ((u.Rolled != u.Changed || (d.SentAt > young && u.RolledAt <= yesterday)) && (u.RolledAt == null || u.RolledAt <= recent || u.RolledAt > now))
            orderby d.SentAt descending
            select d).ToListAsync(cancellationToken);
    }

    /// <summary>Its row stands before anything is read: what is finished, or who is deleted, while that goes on raises its mark.</summary>
    private async Task<long> BeginAsync(Drop drop, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var row = await db.DropUptakes.AsNoTracking().SingleOrDefaultAsync(u => u.DropId == drop.Id, cancellationToken);
        if (row is null)
        {
            db.DropUptakes.Add(row = new DropUptake { DropId = drop.Id, Changed = 1 });
            await db.SaveChangesAsync(cancellationToken);
        }
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return row.Changed;
    }

    private async Task RollUpAsync(Drop drop, CancellationToken cancellationToken)
    {
        var changed = await BeginAsync(drop, cancellationToken);
        var taken = await DropTaking.OfAsync(db, drop, null, cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var row = await db.DropUptakes.SingleAsync(u => u.DropId == drop.Id, cancellationToken);
        var kept = await db.KeptCounts.AsNoTracking().Where(c => c.Month == drop.Month && (c.Figure == MemberFigure.DropHolders || c.Figure == MemberFigure.DropTakers)).ToListAsync(cancellationToken);
        row.Holders = taken.Count + kept.Where(c => c.Figure == MemberFigure.DropHolders).Sum(c => c.Count);
        (row.After1, row.After7, row.After30, row.ByNow) = (Within(1), Within(7), Within(30), Within(0));
        // What was finished while this was read raised the mark, and it is rolled up once more.
        (row.Rolled, row.RolledAt) = (changed, clock.GetUtcNow());
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();

        int Within(int days) => taken.Values.Count(at => IsWithin(drop, at, days)) + kept.Where(c => c.Figure == MemberFigure.DropTakers && c.N == days).Sum(c => c.Count);
    }

    /// <summary>Days are twenty-four hours each; 0: whenever it was.</summary>
    internal static bool IsWithin(Drop drop, DateTimeOffset? finishedAt, int days) => days == 0 ? finishedAt is not null : finishedAt - drop.SentAt <= TimeSpan.FromDays(days);
}

/// <summary>Whether <see cref="RollUpDrops"/> has something to do.</summary>
public sealed class FindDropsUncounted(ShelfDb db, TimeProvider clock)
{
    public async Task<bool> RunAsync(CancellationToken cancellationToken) =>
        (await RollUpDrops.DueAsync(db, clock.GetUtcNow(), new RollUpDrops(db, clock).Pause, cancellationToken)).Count > 0;
}
