using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

public enum WatchClockOutcome
{
    /// <summary>It goes on from where it was last seen, or has come back to there.</summary>
    Fine,
    /// <summary>It has gone ahead by more than <see cref="WatchClock.Farthest"/> since it was last seen; what is due by it, and what comes due until its maker has put the alert away, asks.</summary>
    Jumped,
}

/// <summary>
/// Notes where the server's clock stands, before it is believed that a drop is due. One that jumps ahead (a battery that died, a wrong date typed in) would send
/// months of drops in one night, and no mail comes back: what is due by such a clock waits for the maker's word, and an alert says why. While that alert stands, what comes due asks too, from its hour on; putting it away is
/// her word that the clock is right, and what asked for the clock alone goes.
/// </summary>
public sealed class WatchClock(ShelfDb db, TimeProvider clock)
{
    /// <summary>A clock may go ahead so far at once: a practice shop lets a month pass on purpose, and the last look at it may be a while ago.</summary>
    public static readonly TimeSpan Farthest = TimeSpan.FromDays(32);

    private const AlertKind Kind = AlertKind.ClockJumped;

    public async Task<WatchClockOutcome> RunAsync(CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        var mark = await db.ClockMarks.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var outcome = WatchClockOutcome.Fine;
        if (mark is null)
        {
            db.ClockMarks.Add(new ClockMark { SeenAt = now });
            await db.SaveChangesAsync(cancellationToken);
        }
        else if (now - mark.SeenAt > Farthest)
        {
            outcome = WatchClockOutcome.Jumped;
            await AskAsync(mark.SeenAt, now, cancellationToken);
            await KeepAsync(now, mark.JumpedFrom ?? mark.SeenAt, cancellationToken);
        }
        else if (now >= mark.SeenAt)
        {
            if (mark.JumpedFrom is not null)
                await DoubtAsync(now, cancellationToken);
            await KeepAsync(now, mark.JumpedFrom, cancellationToken);
        }
        // One that is behind for a while, as after a start without a battery, is not believed: else its coming right would be a jump. Back from where it jumped to, it is.
        else if (mark.JumpedFrom <= now && mark.SeenAt - now > Farthest)
        {
            await KeepAsync(now, null, cancellationToken);
            await new SettleAlert(db, clock).RunAsync(Kind, "", cancellationToken);
            await DoubtAsync(now, cancellationToken);
        }
        await transaction.CommitAsync(cancellationToken);
        return outcome;
    }

    private Task<int> KeepAsync(DateTimeOffset seen, DateTimeOffset? jumpedFrom, CancellationToken cancellationToken) =>
        db.ClockMarks.ExecuteUpdateAsync(s => s.SetProperty(m => m.SeenAt, seen).SetProperty(m => m.JumpedFrom, jumpedFrom), cancellationToken);

    private async Task AskAsync(DateTimeOffset seen, DateTimeOffset now, CancellationToken cancellationToken)
    {
        await db.Drops.Where(d => d.State == DropState.Planned && d.DueAt <= now && d.AsksSince == null)
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.AsksSince, now), cancellationToken);
        // Also where none is due yet: the next comes due by this clock, too early.
        if (await db.Drops.AnyAsync(d => d.State == DropState.Planned, cancellationToken))
            await new RaiseAlert(db, clock).RunAsync(Kind, "", Words(seen, now), cancellationToken);
    }

    /// <summary>Since it jumped: what comes due asks while the alert stands, and goes once that is put away. What its maker sends at once she has said herself.</summary>
    private async Task DoubtAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        var planned = db.Drops.Where(d => d.State == DropState.Planned);
        if (await db.Alerts.AnyAsync(a => a.Kind == Kind && a.SettledAt == null, cancellationToken))
            await planned.Where(d => d.DueAt <= now && d.AsksSince == null && !d.IsAtOnce).ExecuteUpdateAsync(s => s.SetProperty(d => d.AsksSince, d => (DateTimeOffset?)d.DueAt), cancellationToken);
        else
            await planned.Where(d => d.AsksSince == d.DueAt).ExecuteUpdateAsync(s => s.SetProperty(d => d.AsksSince, (DateTimeOffset?)null), cancellationToken);
    }

    private static string Words(DateTimeOffset seen, DateTimeOffset now) =>
        T($"The server’s clock may be wrong: it says {Day(now)}, and the shelf was last at work on {Day(seen)}, {(int)(now - seen).TotalDays} days before. Until you put this away, no drop goes out by itself: "
        + $"what is due by that clock asks you first, and nothing of it is out. If the clock is wrong, have it put right; the drops then go out at their hour. If the shelf only stood still so long, open the drops, send what is to go out, and put this away.");

    private static string Day(DateTimeOffset at) => DayWords.Day(LocalDate.FromDateTime(at.DateTime));
}
