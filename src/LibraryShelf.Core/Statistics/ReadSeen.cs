using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>How often each thing of a kind was seen in some days, the most first: from months where nothing of them lies outside of the days, else from days.</summary>
public sealed class ReadSeen(ShelfDb db)
{
    /// <param name="kind">What was seen.</param>
    /// <param name="days">When.</param>
    /// <param name="most">No more than so many.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<IReadOnlyList<SeenTimes>> RunAsync(SightingKind kind, DayRange days, int most, CancellationToken cancellationToken) =>
        (await WithAllAsync(kind, days, isByBox: false, most, cancellationToken)).Rows.ConvertAll(s => new SeenTimes(s.Word, s.Times));

    /// <summary>The same with the box, and with how many there are in all: adding up a year's words takes longest, so it is done once for both.</summary>
    /// <param name="kind">What was seen.</param>
    /// <param name="days">When.</param>
    /// <param name="isByBox">A word of two boxes is two; false: one, of box 0.</param>
    /// <param name="most">No more than so many.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    internal async Task<(List<SeenOfBox> Rows, int All)> WithAllAsync(SightingKind kind, DayRange days, bool isByBox, int most, CancellationToken cancellationToken)
    {
        var months = await MonthsAsync(days, cancellationToken);
        var (name, from, to) = (kind.ToString(), YearMonthPattern.Iso.Format(months.First), YearMonthPattern.Iso.Format(months.Last));
        // The days before these months, and those behind; none of them where there is no month.
        var (first, begin) = (Iso(days.First), Iso(months.First > months.Last ? days.Last.PlusDays(1) : months.First.OnDayOfMonth(1)));
        var (end, last) = (Iso(months.First > months.Last ? days.Last : months.Last.OnDayOfMonth(1).With(DateAdjusters.EndOfMonth)), Iso(days.Last));
        // In SQL that both databases speak. Each part is added up in the order of its index, and how many there are is asked of what came out: as a window over it it takes four times as long.
        var rows = await (isByBox
            ? db.Database.SqlQuery<SeenOfBox>($"""
                WITH parts AS (
                    SELECT "Word", "LibraryId", sum("Times") AS "Times" FROM "MonthSightings" WHERE "Kind" = {name} AND "Month" >= {from} AND "Month" <= {to} GROUP BY "Word", "LibraryId"
                    UNION ALL SELECT "Word", "LibraryId", sum("Times") FROM "Sightings" WHERE "Kind" = {name} AND "Day" >= {first} AND "Day" < {begin} GROUP BY "Word", "LibraryId"
                    UNION ALL SELECT "Word", "LibraryId", sum("Times") FROM "Sightings" WHERE "Kind" = {name} AND "Day" > {end} AND "Day" <= {last} GROUP BY "Word", "LibraryId"
                ), words AS MATERIALIZED (SELECT "Word", "LibraryId", sum("Times") AS "Times" FROM parts GROUP BY "Word", "LibraryId")
                SELECT "Word", "LibraryId", CAST("Times" AS INTEGER) AS "Times", CAST((SELECT count(*) FROM words) AS INTEGER) AS "All" FROM words ORDER BY words."Times" DESC, "Word", "LibraryId" LIMIT {most}
                """)
            : db.Database.SqlQuery<SeenOfBox>($"""
                WITH parts AS (
                    SELECT "Word", sum("Times") AS "Times" FROM "MonthSightings" WHERE "Kind" = {name} AND "Month" >= {from} AND "Month" <= {to} GROUP BY "Word"
                    UNION ALL SELECT "Word", sum("Times") FROM "Sightings" WHERE "Kind" = {name} AND "Day" >= {first} AND "Day" < {begin} GROUP BY "Word"
                    UNION ALL SELECT "Word", sum("Times") FROM "Sightings" WHERE "Kind" = {name} AND "Day" > {end} AND "Day" <= {last} GROUP BY "Word"
                ), words AS MATERIALIZED (SELECT "Word", sum("Times") AS "Times" FROM parts GROUP BY "Word")
                SELECT "Word", CAST(0 AS BIGINT) AS "LibraryId", CAST("Times" AS INTEGER) AS "Times", CAST((SELECT count(*) FROM words) AS INTEGER) AS "All" FROM words ORDER BY words."Times" DESC, "Word" LIMIT {most}
                """)).ToListAsync(cancellationToken);
        return (rows, rows.Count == 0 ? 0 : rows[0].All);
    }

    /// <summary>Whole ones, and those at either end of which nothing was seen outside of the days, as of the month that runs.</summary>
    private async Task<(YearMonth First, YearMonth Last)> MonthsAsync(DayRange days, CancellationToken cancellationToken)
    {
        var (first, last) = FetchedCounts.MonthsOf(days);
        var (begin, end) = (days.First.With(DateAdjusters.StartOfMonth), days.Last.With(DateAdjusters.EndOfMonth));
        return (begin < days.First && !await db.Sightings.AnyAsync(s => s.Day >= begin && s.Day < days.First, cancellationToken) ? begin.ToYearMonth() : first,
            days.Last < end && !await db.Sightings.AnyAsync(s => s.Day > days.Last && s.Day <= end, cancellationToken) ? end.ToYearMonth() : last);
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}

/// <summary>How often a word was seen of a box, and how many such there are.</summary>
internal sealed record SeenOfBox(string Word, long LibraryId, int Times, int All);
