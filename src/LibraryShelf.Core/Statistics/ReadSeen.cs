using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>How often each thing of a kind was seen in some days, the most first.</summary>
public sealed class ReadSeen(ShelfDb db)
{
    /// <param name="kind">What was seen.</param>
    /// <param name="days">When.</param>
    /// <param name="most">No more than so many.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<IReadOnlyList<SeenTimes>> RunAsync(SightingKind kind, DayRange days, int most, CancellationToken cancellationToken) =>
        (await db.Sightings.Where(s => s.Kind == kind && s.Day >= days.First && s.Day <= days.Last).GroupBy(s => s.Word)
            .Select(g => new { Word = g.Key, Times = g.Sum(s => s.Times) }).OrderByDescending(s => s.Times).ThenBy(s => s.Word).Take(most).ToListAsync(cancellationToken))
            .ConvertAll(s => new SeenTimes(s.Word, s.Times));

    /// <summary>The same with the box, and with how many there are in all: adding up a year's words takes longest, so it is done once for both.</summary>
    /// <param name="kind">What was seen.</param>
    /// <param name="days">When.</param>
    /// <param name="isByBox">A word of two boxes is two; false: one, of box 0.</param>
    /// <param name="most">No more than so many.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    internal async Task<(List<SeenOfBox> Rows, int All)> WithAllAsync(SightingKind kind, DayRange days, bool isByBox, int most, CancellationToken cancellationToken)
    {
        var (name, first, last) = (kind.ToString(), LocalDatePattern.Iso.Format(days.First), LocalDatePattern.Iso.Format(days.Last));
        // In SQL that both databases speak.
        var rows = await (isByBox
            ? db.Database.SqlQuery<SeenOfBox>($"""
                SELECT "Word", "LibraryId", CAST(sum("Times") AS INTEGER) AS "Times", CAST(count(*) OVER () AS INTEGER) AS "All" FROM "Sightings"
                WHERE "Kind" = {name} AND "Day" >= {first} AND "Day" <= {last} GROUP BY "Word", "LibraryId" ORDER BY 3 DESC, "Word", "LibraryId" LIMIT {most}
                """)
            : db.Database.SqlQuery<SeenOfBox>($"""
                SELECT "Word", CAST(0 AS BIGINT) AS "LibraryId", CAST(sum("Times") AS INTEGER) AS "Times", CAST(count(*) OVER () AS INTEGER) AS "All" FROM "Sightings"
                WHERE "Kind" = {name} AND "Day" >= {first} AND "Day" <= {last} GROUP BY "Word" ORDER BY 3 DESC, "Word" LIMIT {most}
                """)).ToListAsync(cancellationToken);
        return (rows, rows.Count == 0 ? 0 : rows[0].All);
    }
}

/// <summary>How often a word was seen of a box, and how many such there are.</summary>
internal sealed record SeenOfBox(string Word, long LibraryId, int Times, int All);
