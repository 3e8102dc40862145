using LibraryShelf.Core.Data;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>A day's or a month's counts of one thing: what figures over some days are added up from.</summary>
internal sealed class FetchedCount
{
    public long LibraryId { get; init; }
    public long ReleaseId { get; init; }
    public long DropId { get; init; }
    public FetchedKind Kind { get; init; }
    public FetchedBy By { get; init; }
    public int Started { get; init; }
    public int Finished { get; init; }
    public int Ended { get; init; }
    public int Requests { get; init; }
    public int Resumes { get; init; }
    public long Bytes { get; init; }
    public int Left { get; init; }
    public int LeftAgain { get; init; }
    public long LeftCovered { get; init; }
    public long LeftLength { get; init; }
}

/// <summary>Counts of some days as one question, so that it sees one state: whole months as months, and the days before and after them as days.</summary>
internal static class FetchedCounts
{
    /// <summary>Of one box alone whole months are left out: they hold several.</summary>
    public static IQueryable<FetchedCount> Of(ShelfDb db, long? libraryId, DayRange days)
    {
        var (first, last) = MonthsOf(days);
        if (first > last)
            return DaysOf(db, libraryId, days.First, days.Last);
        var months = db.MonthCounts.Where(c => c.Month >= first && c.Month <= last);
        if (libraryId is { } id)
            months = months.Where(c => c.LibraryId == id && c.DropId == 0);
        var counts = months.Select(c => new FetchedCount
        {
            LibraryId = c.LibraryId, ReleaseId = c.ReleaseId, DropId = c.DropId, Kind = c.Kind, By = c.By,
            Started = c.Started, Finished = c.Finished, Ended = c.Ended, Requests = c.Requests, Resumes = c.Resumes, Bytes = c.Bytes,
            Left = c.Left, LeftAgain = c.LeftAgain, LeftCovered = c.LeftCovered, LeftLength = c.LeftLength,
        });
        var (begin, end) = (first.OnDayOfMonth(1), last.OnDayOfMonth(1).PlusMonths(1));
        if (days.First < begin)
            counts = counts.Concat(DaysOf(db, libraryId, days.First, begin.PlusDays(-1)));
        return end <= days.Last ? counts.Concat(DaysOf(db, libraryId, end, days.Last)) : counts;
    }

    public static IQueryable<FetchedCount> ByListeners(this IQueryable<FetchedCount> counts) => counts.Where(c => c.By == FetchedBy.Free || c.By == FetchedBy.Members);

    /// <summary>The first and the last month that lie in these days whole; the first after the last: none does.</summary>
    internal static (YearMonth First, YearMonth Last) MonthsOf(DayRange days) =>
        ((days.First.Day == 1 ? days.First : days.First.PlusMonths(1)).ToYearMonth(),
        (days.Last == days.Last.With(DateAdjusters.EndOfMonth) ? days.Last : days.Last.PlusMonths(-1)).ToYearMonth());

    private static IQueryable<FetchedCount> DaysOf(ShelfDb db, long? libraryId, LocalDate first, LocalDate last)
    {
        var counts = db.DayCounts.Where(c => c.Day >= first && c.Day <= last);
        if (libraryId is { } id)
            counts = counts.Where(c => c.LibraryId == id && c.DropId == 0);
        return counts.Select(c => new FetchedCount
        {
            LibraryId = c.LibraryId, ReleaseId = c.ReleaseId, DropId = c.DropId, Kind = c.Kind, By = c.By,
            Started = c.Started, Finished = c.Finished, Ended = c.Ended, Requests = c.Requests, Resumes = c.Resumes, Bytes = c.Bytes,
            Left = c.Left, LeftAgain = c.LeftAgain, LeftCovered = c.LeftCovered, LeftLength = c.LeftLength,
        });
    }
}
