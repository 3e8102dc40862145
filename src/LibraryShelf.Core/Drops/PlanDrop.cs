using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// Plans the drop of a month, or changes its words and its day. Of one that is out the words alone change. One that was called off is planned anew.
/// </summary>
public sealed class PlanDrop(ShelfDb db, TimeProvider clock)
{
    /// <summary>How far ahead a month may be planned.</summary>
    public const int MonthsAhead = 24;

    /// <summary>"At once" is so much later: long enough to see that the wrong month was sent, and take it back.</summary>
    public static readonly TimeSpan AtOnceIn = TimeSpan.FromMinutes(5);

    /// <param name="month">Whose box it is; one drop a month.</param>
    /// <param name="form">As typed.</param>
    /// <param name="revision">The <see cref="Drop.Revision"/> the form was filled from; null: the month had no drop.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<DropOutcome> RunAsync(YearMonth month, DropForm form, int? revision, CancellationToken cancellationToken) =>
        // Two plans of one month at once both add the row: the later finds it on looking again.
        FreshEyes.LookAsync<DropOutcome>(db, () => PlanAsync(month, form.Tidied(), revision, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> PlanAsync(YearMonth month, DropForm form, int? revision, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        if (drop?.Revision != revision)
            return new DropOutcome.ChangedMeanwhile();
        var refusals = form.Refusals(month);
        if (refusals.Count > 0)
            return new DropOutcome.Refused(refusals);
        if (drop?.State == DropState.Sent)
            return await KeepWordsAsync(drop, form, cancellationToken);
        if (drop is null && await TooFarAsync(month, now, cancellationToken) is { } words)
            return new DropOutcome.Refused("", words);
        // The day that stands may have come while the drop lacked something: words are kept then without moving it.
        var isPlanned = drop is { State: DropState.Planned };
        var isDayKept = !form.IsAtOnce && isPlanned && (drop!.Day, drop.Time, drop.Zone) == (form.Day, form.Time, form.Zone);
        var due = form.IsAtOnce ? now + AtOnceIn : isDayKept ? drop!.DueAt : form.DueIn(month)!.Value;
        if (due < now && !isDayKept)
            return new DropOutcome.Refused(nameof(DropForm.Day), DropWhen.PastWords);

        if (drop is null)
            db.Drops.Add(drop = new Drop { Month = month, CreatedAt = now, Revision = -1 });
        (drop.Title, drop.Note) = (form.Title, form.Note);
        // At once does not change what was planned: it comes back when that is taken back.
        if (!form.IsAtOnce || !isPlanned)
            (drop.Day, drop.Time, drop.Zone) = (form.Day, form.Time, form.Zone);
        drop.State = DropState.Planned;
        if (isDayKept)
            drop.AskIfDue(now);
        else
            drop.ComeAt(due, form.IsAtOnce);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return DropOutcome.Done.Of(drop, now);
    }

    private async Task<DropOutcome> KeepWordsAsync(Drop drop, DropForm form, CancellationToken cancellationToken)
    {
        (drop.Title, drop.Note) = (form.Title, form.Note);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new DropOutcome.Done(null);
    }

    private async Task<string?> TooFarAsync(YearMonth month, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var first = DropWhen.MonthAt(now, ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? ""));
        return month > first.PlusMonths(MonthsAhead) ? T($"That month is more than {MonthsAhead} months ahead. Plan a nearer one first.")
            : month < first.PlusMonths(-DropWhen.MonthsBack) ? T($"That month is more than {DropWhen.MonthsBack} months past. Plan a later one.")
            : null;
    }
}
