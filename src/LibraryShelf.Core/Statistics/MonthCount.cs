using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// What the <see cref="DayCount"/>s of a month of the shop's calendar add up to, so that five years are read from sixty months and not from eighteen hundred days.
/// Written in the transaction that writes a day of it, from all of its days.
/// </summary>
public sealed class MonthCount
{
    public YearMonth Month { get; set; }
    public long LibraryId { get; set; }
    public long ReleaseId { get; set; }
    /// <summary>As <see cref="DayCount.DropId"/>.</summary>
    public long DropId { get; set; }
    public FetchedKind Kind { get; set; }
    public FetchedBy By { get; set; }
    public int Started { get; set; }
    public int Finished { get; set; }
    public int Ended { get; set; }
    public int Requests { get; set; }
    public int Resumes { get; set; }
    public long Bytes { get; set; }
    public int Left { get; set; }
    public int LeftAgain { get; set; }
    public long LeftCovered { get; set; }
    public long LeftLength { get; set; }
}

/// <summary>What all listeners (<see cref="FetchedBy.Free"/> and <see cref="FetchedBy.Members"/>) started and finished in a day, of everything: a picture of five years is a row a day. Written with the day's counts.</summary>
public sealed class DaySum
{
    public LocalDate Day { get; set; }
    public int Started { get; set; }
    public int Finished { get; set; }
}

public sealed class MonthCountConfiguration : IEntityTypeConfiguration<MonthCount>, IEntityTypeConfiguration<DaySum>
{
    public void Configure(EntityTypeBuilder<MonthCount> builder)
    {
        builder.HasKey(c => new { c.Month, c.LibraryId, c.ReleaseId, c.DropId, c.Kind, c.By });
        builder.Property(c => c.Kind).HasConversion<string>();
        builder.Property(c => c.By).HasConversion<string>();
    }

    public void Configure(EntityTypeBuilder<DaySum> builder) => builder.HasKey(s => s.Day);
}

/// <summary>Writes a day's counts with all that is added up from them.</summary>
internal static class CountedDay
{
    /// <summary>In the caller's transaction, written at once: the day's counts are these now, and its sum and its month's say so.</summary>
    public static async Task ReplaceAsync(ShelfDb db, LocalDate day, IReadOnlyList<DayCount> counts, IReadOnlyList<DayPeople> people, CancellationToken cancellationToken)
    {
        await db.DayCounts.Where(c => c.Day == day).ExecuteDeleteAsync(cancellationToken);
        await db.DayPeople.Where(p => p.Day == day).ExecuteDeleteAsync(cancellationToken);
        await db.DaySums.Where(s => s.Day == day).ExecuteDeleteAsync(cancellationToken);
        db.DayCounts.AddRange(counts);
        db.DayPeople.AddRange(people);
        var heard = counts.Where(c => c.By is FetchedBy.Free or FetchedBy.Members).ToList();
        if (heard.Count > 0)
            db.DaySums.Add(new DaySum { Day = day, Started = heard.Sum(c => c.Started), Finished = heard.Sum(c => c.Finished) });
        await db.SaveChangesAsync(cancellationToken);
        var month = day.ToYearMonth();
        await db.MonthCounts.Where(c => c.Month == month).ExecuteDeleteAsync(cancellationToken);
        await AddUpAsync(db, month, cancellationToken);
    }

    /// <summary>Of all days, where these are to be made anew.</summary>
    public static async Task DeleteAllAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        await db.DayCounts.ExecuteDeleteAsync(cancellationToken);
        await db.DayPeople.ExecuteDeleteAsync(cancellationToken);
        await db.DaySums.ExecuteDeleteAsync(cancellationToken);
        await db.MonthCounts.ExecuteDeleteAsync(cancellationToken);
    }

    /// <summary>In SQL that both databases speak: as entities, the few hundred rows of a month are written one by one, and with each day that is rolled up.</summary>
    private static Task AddUpAsync(ShelfDb db, YearMonth month, CancellationToken cancellationToken)
    {
        var (name, first) = (YearMonthPattern.Iso.Format(month), month.OnDayOfMonth(1));
        var (from, next) = (LocalDatePattern.Iso.Format(first), LocalDatePattern.Iso.Format(first.PlusMonths(1)));
        return db.Database.ExecuteSqlAsync($"""
            INSERT INTO "MonthCounts" ("Month", "LibraryId", "ReleaseId", "DropId", "Kind", "By", "Started", "Finished", "Ended", "Requests", "Resumes", "Bytes", "Left", "LeftAgain", "LeftCovered", "LeftLength")
            SELECT {name}, "LibraryId", "ReleaseId", "DropId", "Kind", "By", sum("Started"), sum("Finished"), sum("Ended"), sum("Requests"), sum("Resumes"), sum("Bytes"), sum("Left"), sum("LeftAgain"), sum("LeftCovered"), sum("LeftLength")
            FROM "DayCounts" WHERE "Day" >= {from} AND "Day" < {next} GROUP BY "LibraryId", "ReleaseId", "DropId", "Kind", "By"
            """, cancellationToken);
    }
}
