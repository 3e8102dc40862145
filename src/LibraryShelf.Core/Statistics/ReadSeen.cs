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
        (await MostAsync(kind, days, isByBox: false, most, cancellationToken)).ConvertAll(s => new SeenTimes(s.Word, s.Times));

    /// <summary>The same with the box. How many there are beyond those is not asked: it would add up a year's words again.</summary>
    /// <param name="kind">What was seen.</param>
    /// <param name="days">When.</param>
    /// <param name="isByBox">A word of two boxes is two; false: one, of box 0.</param>
    /// <param name="most">No more than so many.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    internal async Task<List<SeenOfBox>> MostAsync(SightingKind kind, DayRange days, bool isByBox, long most, CancellationToken cancellationToken)
    {
        var of = isByBox ? "\"Word\", \"LibraryId\"" : "\"Word\"";
        List<object> values = [kind.ToString(), most];
        var parts = await PartsAsync(days, values, cancellationToken);
        // In SQL that both databases speak.
        var from = parts.Count == 1 ? parts[0] : $"FROM ({Union($"SELECT {of}, \"Times\"", parts)}) AS parts";
        var sql = $$"""
            SELECT "Word", {{(isByBox ? "" : "CAST(0 AS BIGINT) AS ")}}"LibraryId", CAST(sum("Times") AS INTEGER) AS "Times" {{from}} GROUP BY {{of}}
            ORDER BY sum("Times") DESC, {{of}} LIMIT {1}
            """;
        return await db.Database.SqlQueryRaw<SeenOfBox>(sql, [.. values]).ToListAsync(cancellationToken);
    }

    /// <summary>How often some words were seen: what a second range is asked, for a tenth of what finding its most frequent ones takes.</summary>
    /// <param name="kind">What was seen.</param>
    /// <param name="days">When.</param>
    /// <param name="isByBox">As above.</param>
    /// <param name="words">Which, no more than a page's.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    /// <returns>By word and box, those that were seen.</returns>
    internal async Task<Dictionary<(string Word, long LibraryId), int>> TimesAsync(SightingKind kind, DayRange days, bool isByBox, IReadOnlyCollection<string> words, CancellationToken cancellationToken)
    {
        if (words.Count == 0)
            return [];
        List<object> values = [kind.ToString()];
        var parts = await PartsAsync(days, values, cancellationToken);
        var isOne = $" AND \"Word\" IN ({string.Join(", ", Enumerable.Range(values.Count, words.Count).Select(n => $"{{{n}}}"))})";
        values.AddRange(words);
        var of = $"SELECT \"Word\", {(isByBox ? "" : "CAST(0 AS BIGINT) AS ")}\"LibraryId\", \"Times\"";
        var sql = $"""
            SELECT "Word", "LibraryId", CAST(sum("Times") AS INTEGER) AS "Times" FROM ({Union(of, parts.ConvertAll(part => part + isOne))}) AS parts GROUP BY "Word", "LibraryId"
            """;
        return (await db.Database.SqlQueryRaw<SeenOfBox>(sql, [.. values]).ToListAsync(cancellationToken)).ToDictionary(r => (r.Word, r.LibraryId), r => r.Times);
    }

    /// <summary>How often anything of a kind was seen in some days, whatever it was.</summary>
    internal async Task<long> SumAsync(SightingKind kind, DayRange days, CancellationToken cancellationToken)
    {
        List<object> values = [kind.ToString()];
        var sql = $"SELECT CAST(coalesce(sum(\"Times\"), 0) AS BIGINT) AS \"Value\" FROM ({Union("SELECT \"Times\"", await PartsAsync(days, values, cancellationToken))}) AS parts";
        return await db.Database.SqlQueryRaw<long>(sql, [.. values]).SingleAsync(cancellationToken);
    }

    private static string Union(string select, List<string> parts) => string.Join(" UNION ALL ", parts.Select(part => $"{select} {part}"));

    /// <summary>Where the days' rows of kind {0} stand, one FROM for each; their bounds are added to the values.</summary>
    private async Task<List<string>> PartsAsync(DayRange days, List<object> values, CancellationToken cancellationToken)
    {
        var (first, last) = await MonthsAsync(days, cancellationToken);
        List<string> parts = [];
        if (first > last)
        {
            Add("Sightings", "Day", Iso(days.First), Iso(days.Last));
            return parts;
        }
        Add("MonthSightings", "Month", YearMonthPattern.Iso.Format(first), YearMonthPattern.Iso.Format(last));
        var (begin, end) = (first.OnDayOfMonth(1), last.OnDayOfMonth(1).With(DateAdjusters.EndOfMonth));
        if (days.First < begin)
            Add("Sightings", "Day", Iso(days.First), Iso(begin.PlusDays(-1)));
        if (end < days.Last)
            Add("Sightings", "Day", Iso(end.PlusDays(1)), Iso(days.Last));
        return parts;

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

/// <summary>How often a word was seen of a box.</summary>
internal sealed record SeenOfBox(string Word, long LibraryId, int Times);
