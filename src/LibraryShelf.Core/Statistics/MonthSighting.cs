using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// How often something was seen in a month of the shop's calendar: what its days' <see cref="Sighting"/>s add up to, so that a year of them is read from a third of
/// the rows, or far fewer where the same words come each day. Written in the transaction that writes a day of it, from all of its days, and goes with them.
/// </summary>
public sealed class MonthSighting
{
    public YearMonth Month { get; set; }
    public SightingKind Kind { get; set; }
    /// <summary>As <see cref="Sighting.LibraryId"/>.</summary>
    public long LibraryId { get; set; }
    public string Word { get; set; } = "";
    public int Times { get; set; }
}

public sealed class MonthSightingConfiguration : IEntityTypeConfiguration<MonthSighting>
{
    public void Configure(EntityTypeBuilder<MonthSighting> builder)
    {
        builder.HasKey(s => new { s.Kind, s.Month, s.LibraryId, s.Word });
        builder.Property(s => s.Kind).HasConversion<string>();
        // As that of the days: words are added up in the order in which they stand.
        builder.HasIndex(s => new { s.Kind, s.Word, s.LibraryId, s.Month, s.Times });
    }
}

/// <summary>Keeps months saying what their days say. In the caller's transaction, and in SQL that both databases speak.</summary>
internal static class SeenMonths
{
    /// <summary>After some of a day's rows of a kind were written: all its words are added up anew in its month.</summary>
    public static Task AddUpAsync(ShelfDb db, LocalDate day, SightingKind kind, CancellationToken cancellationToken)
    {
        var (of, name, month) = (LocalDatePattern.Iso.Format(day), kind.ToString(), day.ToYearMonth());
        var (first, last) = DaysOf(month);
        return db.Database.ExecuteSqlAsync($"""
            INSERT INTO "MonthSightings" ("Kind", "Month", "LibraryId", "Word", "Times")
            SELECT s."Kind", substr({of}, 1, 7), s."LibraryId", s."Word", sum(s."Times") FROM "Sightings" AS d
            JOIN "Sightings" AS s ON s."Kind" = d."Kind" AND s."Word" = d."Word" AND s."LibraryId" = d."LibraryId" AND s."Day" >= {first} AND s."Day" <= {last}
            WHERE d."Day" = {of} AND d."Kind" = {name} GROUP BY s."Kind", s."LibraryId", s."Word"
            ON CONFLICT ("Kind", "Month", "LibraryId", "Word") DO UPDATE SET "Times" = excluded."Times" WHERE "MonthSightings"."Times" <> excluded."Times"
            """, cancellationToken);
    }

    /// <summary>After words of days before this one went: they are in no month any more, and its own month is what is left of it.</summary>
    public static async Task CutAsync(ShelfDb db, LocalDate before, CancellationToken cancellationToken)
    {
        var month = before.ToYearMonth();
        await db.MonthSightings.Where(s => s.Kind != SightingKind.Answer && s.Month <= month).ExecuteDeleteAsync(cancellationToken);
        var (name, answer) = (YearMonthPattern.Iso.Format(month), nameof(SightingKind.Answer));
        var (first, last) = DaysOf(month);
        await db.Database.ExecuteSqlAsync($"""
            INSERT INTO "MonthSightings" ("Kind", "Month", "LibraryId", "Word", "Times")
            SELECT "Kind", {name}, "LibraryId", "Word", sum("Times") FROM "Sightings" WHERE "Kind" <> {answer} AND "Day" >= {first} AND "Day" <= {last} GROUP BY "Kind", "LibraryId", "Word"
            """, cancellationToken);
    }

    private static (string First, string Last) DaysOf(YearMonth month)
    {
        var first = month.OnDayOfMonth(1);
        return (LocalDatePattern.Iso.Format(first), LocalDatePattern.Iso.Format(first.With(DateAdjusters.EndOfMonth)));
    }
}
