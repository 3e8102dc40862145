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
        var (first, last) = await MonthsAsync(days, cancellationToken);
        var of = isByBox ? "\"Word\", \"LibraryId\"" : "\"Word\"";
        var (values, parts) = (new List<object> { kind.ToString(), most }, new List<string>());
        if (first > last)
        {
            Add("Sightings", "Day", Iso(days.First), Iso(days.Last));
        }
        else
        {
            Add("MonthSightings", "Month", YearMonthPattern.Iso.Format(first), YearMonthPattern.Iso.Format(last));
            var (begin, end) = (first.OnDayOfMonth(1), last.OnDayOfMonth(1).With(DateAdjusters.EndOfMonth));
            if (days.First < begin)
                Add("Sightings", "Day", Iso(days.First), Iso(begin.PlusDays(-1)));
            if (end < days.Last)
                Add("Sightings", "Day", Iso(end.PlusDays(1)), Iso(days.Last));
        }
        // In SQL that both databases speak. How many there are is asked of what came out: as a window over it it takes four times as long.
        var from = parts.Count == 1 ? parts[0] : $"FROM (SELECT {of}, \"Times\" {string.Join($" UNION ALL SELECT {of}, \"Times\" ", parts)}) AS parts";
        var sql = $$"""
            WITH words AS MATERIALIZED (SELECT {{of}}, sum("Times") AS "Times" {{from}} GROUP BY {{of}})
            SELECT "Word", {{(isByBox ? "" : "CAST(0 AS BIGINT) AS ")}}"LibraryId", CAST("Times" AS INTEGER) AS "Times", CAST((SELECT count(*) FROM words) AS INTEGER) AS "All"
            FROM words ORDER BY words."Times" DESC, {{of}} LIMIT {1}
            """;
        var rows = await db.Database.SqlQueryRaw<SeenOfBox>(sql, [.. values]).ToListAsync(cancellationToken);
        return (rows, rows.Count == 0 ? 0 : rows[0].All);

        void Add(string table, string when, string first, string last)
        {
            parts.Add($"FROM \"{table}\" WHERE \"Kind\" = {{0}} AND \"{when}\" >= {{{values.Count}}} AND \"{when}\" <= {{{values.Count + 1}}}");
            values.AddRange([first, last]);
        }
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
