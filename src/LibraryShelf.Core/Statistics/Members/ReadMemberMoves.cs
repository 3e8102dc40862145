using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>Who came and went in some days.</summary>
/// <param name="Members">At this moment.</param>
/// <param name="Joined">For the first time.</param>
/// <param name="Returned">After a time of not being one.</param>
/// <param name="Left">Stopped being one.</param>
/// <param name="Failed">Renewals that failed.</param>
/// <param name="Recovered">Of these, paid by now.</param>
public sealed record MemberMoves(int Members, int Joined, int Returned, int Left, int Failed, int Recovered);

/// <summary>Reads who joined and left in some days of the shop's calendar, as <see cref="MemberTotals"/> counts them in a month; of deleted people no days are kept, so they are in none.</summary>
public sealed class ReadMemberMoves(ShelfDb db, TimeProvider clock)
{
    public async Task<MemberMoves> RunAsync(DayRange days, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(days);
        var now = clock.GetUtcNow();
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var (from, to) = (zone.AtStartOfDay(days.First).ToDateTimeOffset(), zone.AtStartOfDay(days.Last.PlusDays(1)).ToDateTimeOffset());
        var rows = await MemberRows.LoadAsync(db, null, now, cancellationToken);
        var (paying, given) = rows.At(now);
        var (joined, returned, left) = (0, 0, 0);
        foreach (var (isFirst, begins, ends) in Stretches(rows.Times))
        {
            if (IsIn(begins))
                (joined, returned) = isFirst ? (joined + 1, returned) : (joined, returned + 1);
            if (ends <= now.ToUnixTimeMilliseconds() && IsIn(ends - 1))
                left++;
        }
        var failed = await FailedCounts.OfMembers(db).Where(r => r.Since >= from && r.Since < to).Select(r => r.RecoveredAt).ToListAsync(cancellationToken);
        return new(paying + given, joined, returned, left, failed.Count, failed.Count(r => r is not null));

        bool IsIn(long at) => at >= from.ToUnixTimeMilliseconds() && at < to.ToUnixTimeMilliseconds();
    }

    /// <summary>Each person's times, those that overlap or touch as one.</summary>
    private static IEnumerable<(bool IsFirst, long From, long Until)> Stretches(IReadOnlyList<MemberRows.Time> times)
    {
        for (var next = 0; next < times.Count;)
        {
            var (person, isFirst) = (times[next].PersonId, next == 0 || times[next - 1].PersonId != times[next].PersonId);
            var (from, until) = (times[next].Is.From, times[next++].Is.Until);
            while (next < times.Count && times[next].PersonId == person && times[next].Is.From <= until)
                until = Math.Max(until, times[next++].Is.Until);
            yield return (isFirst, from, until);
        }
    }
}
