using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>Gives a planned drop, with its words and its versions, to another month. Its time stays; its day is counted in the new month.</summary>
public sealed class MoveDrop(ShelfDb db, TimeProvider clock)
{
    /// <param name="month">Whose it is.</param>
    /// <param name="to">Whose it becomes; one without a drop of its own.</param>
    /// <param name="revision">The <see cref="Drop.Revision"/> that was looked at.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<DropOutcome> RunAsync(YearMonth month, YearMonth to, int revision, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<DropOutcome>(db, () => MoveAsync(month, to, revision, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> MoveAsync(YearMonth month, YearMonth to, int revision, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop is null)
            return new DropOutcome.Missing();
        if (drop.Revision != revision)
            return new DropOutcome.ChangedMeanwhile();
        if (drop.State != DropState.Planned)
            return new DropOutcome.Refused("", T("Only a drop that is planned and not out yet can move."));
        if (to == month)
            return new DropOutcome.Refused("To", T($"It is {DropWhen.Name(month)}’s already. For another day of it, change the plan."));
        if (await TakenAsync(to, cancellationToken) is { } taken)
            return taken;
        if (DropDay.Read(drop.Day) is null or DropDay.Dated)
            drop.Day = await db.Shops.Select(s => s.DropDay).SingleOrDefaultAsync(cancellationToken) ?? "1";
        var due = DropForm.Of(drop).DueIn(to);
        if (due is null || due < clock.GetUtcNow())
            return new DropOutcome.Refused("To", T($"Its day in {DropWhen.Name(to)} is past. Choose a later month."));
        if (drop.SlippedAt is not null)
        {
            await LeaveToldAsync(drop, to, due.Value, cancellationToken);
        }
        else
        {
            drop.Month = to;
            drop.ComeAt(due.Value, isAtOnce: false);
        }
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new DropOutcome.Done(null);
    }

    /// <summary>
    /// What its members were told stays with the month it was said of, and so does the row that their letters are about; the plan goes on in a row of its own.
    /// </summary>
    private async Task LeaveToldAsync(Drop told, YearMonth to, DateTimeOffset due, CancellationToken cancellationToken)
    {
        var moved = new Drop { Month = to, Title = told.Title, Note = told.Note, Day = told.Day, Time = told.Time, Zone = told.Zone, State = DropState.Planned, CreatedAt = clock.GetUtcNow() };
        moved.ComeAt(due, isAtOnce: false);
        db.Drops.Add(moved);
        await db.SaveChangesAsync(cancellationToken);
        await db.DropReleases.Where(r => r.DropId == told.Id).ExecuteUpdateAsync(s => s.SetProperty(r => r.DropId, moved.Id), cancellationToken);
        (told.State, told.Title, told.Note) = (DropState.Cancelled, "", "");
        (told.IsAtOnce, told.AsksSince, told.MovedFrom) = (false, null, null);
    }

    /// <summary>A month whose drop was called off is free for another, unless its members were told of it.</summary>
    private async Task<DropOutcome?> TakenAsync(YearMonth month, CancellationToken cancellationToken)
    {
        if (await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Month == month, cancellationToken) is not { } other)
            return null;
        if (other is not { State: DropState.Cancelled, SlippedAt: null })
            return new DropOutcome.Refused("To", other.State == DropState.Cancelled
                ? T($"{DropWhen.Name(month)} has a drop of its own, called off, and people were told why it slips. Plan that one anew instead.")
                : T($"{DropWhen.Name(month)} has a drop of its own."));
        await db.Drops.Where(d => d.Id == other.Id && d.State == DropState.Cancelled).ExecuteDeleteAsync(cancellationToken);
        return null;
    }
}
