using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>How often each thing of a kind was seen in some days, the most first: from months where nothing of them lies outside of the days, else from days.</summary>
public sealed class ReadSeen(ShelfDb db)
{
    /// <summary>Of the days that were asked about last: one look asks about several kinds.</summary>
    private (DayRange Days, (YearMonth First, YearMonth Last) Months)? known;

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
        var parts = await PartsAsync(days, "\"Kind\" = {0}", values, cancellationToken);
        // In SQL that both databases speak.
        var from = parts.Count == 1 ? parts[0] : $"FROM ({Union($"SELECT {of}, \"Times\"", parts)}) AS parts";
        var sql = $$"""
            SELECT "Word", {{(isByBox ? "" : "CAST(0 AS BIGINT) AS ")}}"LibraryId", CAST(sum("Times") AS INTEGER) AS "Times" {{from}} GROUP BY {{of}}
            ORDER BY sum("Times") DESC, {{of}} LIMIT {1}
            """;
        return await db.Database.SqlQueryRaw<SeenOfBox>(sql, [.. values]).ToListAsync(cancellationToken);
    }

    /// <summary>How often some words were seen in some days, and how often anything at all of their kinds: in one going through of the rows, which is what takes the time.</summary>
    /// <param name="days">When.</param>
    /// <param name="of">Each kind once, at least one.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    internal async Task<SeenSums> SumsAsync(DayRange days, IReadOnlyList<SeenWords> of, CancellationToken cancellationToken)
    {
        List<object> values = [];
        string Value(object value)
        {
            values.Add(value);
            return $"{{{values.Count - 1}}}";
        }

        string AnyOf(IEnumerable<string> conditions) => string.Join(" OR ", conditions.DefaultIfEmpty("1 = 0"));

        var kinds = of.ToDictionary(o => o.Kind, o => Value(o.Kind.ToString()));
        var ones = of.Where(o => o.Words.Count > 0).Select(o => $"(\"Kind\" = {kinds[o.Kind]} AND \"Word\" IN ({string.Join(", ", o.Words.Select(Value))}))").ToList();
        // What is not asked for by its word is put together as no word.
        var select = $"SELECT \"Kind\", CASE WHEN {AnyOf(ones)} THEN \"Word\" END AS \"Word\", \"LibraryId\", \"Times\"";
        var parts = await PartsAsync(days, $"\"Kind\" IN ({string.Join(", ", kinds.Values)})", values, cancellationToken);
        var isByBox = AnyOf(of.Where(o => o.IsByBox).Select(o => $"\"Kind\" = {kinds[o.Kind]}"));
        var sql = $"""
            SELECT "Kind", "Word", CASE WHEN "Word" IS NOT NULL AND ({isByBox}) THEN "LibraryId" ELSE 0 END AS "LibraryId", CAST(sum("Times") AS BIGINT) AS "Times" FROM ({Union(select, parts)}) AS parts
            GROUP BY 1, 2, 3
            """;
        var rows = await db.Database.SqlQueryRaw<SeenSum>(sql, [.. values]).ToListAsync(cancellationToken);
        return new(
            of.ToDictionary(o => o.Kind, o => rows.Where(r => r.Kind == o.Kind.ToString()).Sum(r => r.Times)),
            rows.Where(r => r.Word is not null).ToDictionary(r => (Enum.Parse<SightingKind>(r.Kind), r.Word!, r.LibraryId), r => checked((int)r.Times)));
    }

    private static string Union(string select, List<string> parts) => string.Join(" UNION ALL ", parts.Select(part => $"{select} {part}"));

    /// <summary>Where the days' rows of some kinds stand, one FROM for each; their bounds are added to the values.</summary>
    private async Task<List<string>> PartsAsync(DayRange days, string isKind, List<object> values, CancellationToken cancellationToken)
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
            parts.Add($"FROM \"{table}\" WHERE {isKind} AND \"{when}\" >= {{{values.Count}}} AND \"{when}\" <= {{{values.Count + 1}}}");
            values.AddRange([first, last]);
        }
    }

    /// <summary>Whole ones, and those at either end of which nothing was seen outside of the days, as of the month that runs.</summary>
    private async Task<(YearMonth First, YearMonth Last)> MonthsAsync(DayRange days, CancellationToken cancellationToken)
    {
        if (known is { } before && before.Days == days)
            return before.Months;
        var (first, last) = FetchedCounts.MonthsOf(days);
        var (begin, end) = (days.First.With(DateAdjusters.StartOfMonth), days.Last.With(DateAdjusters.EndOfMonth));
        var months = (begin < days.First && !await db.Sightings.AnyAsync(s => s.Day >= begin && s.Day < days.First, cancellationToken) ? begin.ToYearMonth() : first,
            days.Last < end && !await db.Sightings.AnyAsync(s => s.Day > days.Last && s.Day <= end, cancellationToken) ? end.ToYearMonth() : last);
        known = (days, months);
        return months;
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}

/// <summary>How often a word was seen of a box.</summary>
internal sealed record SeenOfBox(string Word, long LibraryId, int Times);

/// <summary>Some words of a kind; those of different boxes apart, or put together as of box 0.</summary>
internal sealed record SeenWords(SightingKind Kind, bool IsByBox, IReadOnlyCollection<string> Words);

/// <param name="All">How often anything of a kind was seen.</param>
/// <param name="Words">How often each word that was asked for and seen, by kind, word and box.</param>
internal sealed record SeenSums(IReadOnlyDictionary<SightingKind, long> All, IReadOnlyDictionary<(SightingKind Kind, string Word, long LibraryId), int> Words);

/// <param name="Word">Null: all that were not asked for.</param>
internal sealed record SeenSum(string Kind, string? Word, long LibraryId, long Times);
