using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>The maker says of a drop that asks, and is whole, that it is to go out: <see cref="PlanDrop.AtOnceIn"/> from now, by itself, unless she takes it back.</summary>
public sealed class LetDropGo(ShelfDb db, TimeProvider clock)
{
    /// <param name="month">Whose it is.</param>
    /// <param name="revision">The <see cref="Drop.Revision"/> that was looked at: she says it of what she saw in it.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<DropOutcome> RunAsync(YearMonth month, int revision, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<DropOutcome>(db, () => LetGoAsync(month, revision, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> LetGoAsync(YearMonth month, int revision, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop is null)
            return new DropOutcome.Missing();
        if (drop.State != DropState.Planned)
            return new DropOutcome.Refused("", drop.State == DropState.Sent ? T("This drop is out.") : T("This drop was called off. Plan it anew first."));
        if (drop.DueAt > now)
            return new DropOutcome.Refused("", T("Its hour has not come yet. To send it before, tick “Send it at once” in the plan."));
        if (drop.Revision != revision)
            return new DropOutcome.ChangedMeanwhile();
        if (await ShelfHold.IsHeldAsync(db, cancellationToken))
            return new DropOutcome.Refused("", T("This shelf was restored from a backup and is quiet. Say on the first page of the workbench that it is the one shelf, then send it."));
        var versions = (await DropVersions.LoadAsync(db, [drop.Id], now, cancellationToken))[drop.Id].ToList();
        if (DropReadiness.Of(month, versions) is { Count: > 0 } gaps)
            return new DropOutcome.Refused("", T($"It is not whole: {string.Join(' ', gaps.Select(g => g.Words))} Mend that, then send it."));
        drop.ComeAt(now + PlanDrop.AtOnceIn, isAtOnce: true);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new DropOutcome.Done(null);
    }
}
