using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Other days that were asked for beside a first range.</summary>
/// <param name="Range">As many, as far as they are over; of days to come the first.</param>
/// <param name="Earliest">Of the shelf's days the first of which anything is known, today at the latest.</param>
/// <param name="Today">Of the shop's calendar.</param>
public sealed record DaysBeside(DayRange Range, LocalDate Earliest, LocalDate Today)
{
    /// <summary>The first of them has not come yet.</summary>
    public bool AreToCome => Range.First > Today;

    /// <summary>Else nothing was counted by the end of them, which is not the same as none.</summary>
    public bool IsKnown => Range.Last >= Earliest && !AreToCome;
}

/// <summary>Reads whether anything is known of the days that somebody wants beside others: since the first of which downloads were counted or anything was seen.</summary>
public sealed class ReadDaysBeside(ShelfDb db)
{
    /// <param name="against">The first of them, as somebody wrote it.</param>
    /// <param name="beside">The range that has as many.</param>
    /// <param name="today">Of the shop's calendar.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    /// <returns>Null: none were asked for.</returns>
    public async Task<DaysBeside?> RunAsync(string? against, DayRange beside, LocalDate today, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(beside);
        if (beside.ReadAgainst(against, today) is not { } range)
            return null;
        return new(range, await EarliestAsync(db, cancellationToken) ?? today, today);
    }

    /// <summary>The first day on which a download was counted or anything was seen, how links were answered with it; null: none was.</summary>
    internal static async Task<LocalDate?> EarliestAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        // Both keys begin with the day: each is a look at one row.
        var counted = await db.DayRolls.OrderBy(r => r.Day).Select(r => (LocalDate?)r.Day).FirstOrDefaultAsync(cancellationToken);
        var seen = await db.Sightings.OrderBy(s => s.Day).Select(s => (LocalDate?)s.Day).FirstOrDefaultAsync(cancellationToken);
        return (counted, seen) is ({ } one, { } other) ? LocalDate.Min(one, other) : counted ?? seen;
    }
}
