namespace LibraryShelf.Core.Statistics.Members;

/// <summary>A time somebody is a member, in Unix milliseconds.</summary>
/// <param name="From">Inclusive.</param>
/// <param name="Until">Exclusive; <see cref="long.MaxValue"/>: no end is set.</param>
internal readonly record struct Membered(long From, long Until, bool IsPaid);

/// <summary>
/// Adds people up, month by month: pure. What one person counts for depends on nobody else, so that somebody who is deleted can be taken out of the rows and left
/// in the sums. docs/counting.md has the definitions.
/// </summary>
internal sealed class MemberTotals
{
    /// <summary>Within how many days of a first free download somebody joined.</summary>
    public static readonly int[] FreeDays = [7, 30, 90];

    private const long Day = 24 * 3600 * 1000L;
    private readonly ShopCalendar calendar;
    private readonly long now;
    private readonly int[][] figures;
    private readonly int[] widths;

    public MemberTotals(ShopCalendar calendar, DateTimeOffset now)
    {
        this.calendar = calendar;
        this.now = now.ToUnixTimeMilliseconds();
        widths = [.. Enum.GetValues<MemberFigure>().Select(f => WidthOf(f, calendar.Count))];
        figures = [.. widths.Select(w => new int[2 * calendar.Count * w])];
    }

    public int Of(MemberFigure figure, int month, int n, bool isPaid) =>
        month < 0 || month >= calendar.Count || n < 0 || n >= Width(figure) ? 0 : figures[(int)figure][Place(figure, month, n, isPaid)];

    public int Of(MemberFigure figure, int month, int n = 0) => Of(figure, month, n, false) + Of(figure, month, n, true);

    /// <summary>What was counted of others; a month before the calendar's first is none of its.</summary>
    public void Add(KeptCount kept)
    {
        var month = calendar.IndexOf(kept.Month);
        if (month >= 0 && month < calendar.Count && kept.N < Width(kept.Figure))
            Add(kept.Figure, month, kept.N, kept.IsPaid, kept.Count);
    }

    public IEnumerable<KeptCount> Entries() =>
        from figure in Enum.GetValues<MemberFigure>()
        from month in Enumerable.Range(0, calendar.Count)
        from n in Enumerable.Range(0, Width(figure))
        from isPaid in new[] { false, true }
        let count = Of(figure, month, n, isPaid)
        where count > 0
        select new KeptCount { Figure = figure, Month = calendar.Month(month), N = n, IsPaid = isPaid, Count = count };

    /// <param name="times">All of one person's, by their beginning; none is empty, and they may overlap or touch.</param>
    /// <param name="freeAt">Their first finished free download.</param>
    public void Add(ReadOnlySpan<Membered> times, long? freeAt)
    {
        long? joined = null;
        // The stretch without a gap that is being gone along, and the next time that is not in it.
        for (var next = 0; next < times.Length;)
        {
            var first = next;
            var (from, until) = (times[next].From, times[next++].Until);
            if (from > now) break;
            while (next < times.Length && times[next].From <= until && times[next].From <= now)
                until = Math.Max(until, times[next++].Until);
            AddStretch(times[first..next], from, until, joined);
            joined ??= from;
        }
        if (joined is { } at)
            AddStays(times, at);
        if (freeAt is { } free && free <= now && !(joined <= free))
            AddFree(free, joined);
    }

    private void AddStretch(ReadOnlySpan<Membered> times, long from, long until, long? joined)
    {
        Add(joined is null ? MemberFigure.Joined : MemberFigure.Returned, calendar.IndexOf(from), 0, IsPaidAt(times, from));
        for (var month = calendar.IndexOf(from); month < calendar.Count && calendar.Start(month) < until; month++)
            if (calendar.Start(month) > from && calendar.Start(month) <= now)
                Add(MemberFigure.AtStart, month, 0, IsPaidAt(times, calendar.Start(month)));
        if (until > now)
            return;
        // Who is a member to a month's last instant left in that month.
        var left = calendar.IndexOf(until - 1);
        Add(MemberFigure.Left, left, 0, IsPaidAt(times, until - 1));
        if (joined is null)
            Add(MemberFigure.LeftAfter, left, MonthsBetween(from, until), false);
    }

    private void AddStays(ReadOnlySpan<Membered> times, long joined)
    {
        var last = now;
        if (times[^1].Until < last)
        {
            last = joined;
            foreach (var time in times)
                last = Math.Max(last, time.Until);
            last = Math.Min(last, now);
        }
        var (month, day) = (calendar.IndexOf(joined), calendar.DayOfMonth(joined));
        for (var n = 1; month + n < calendar.Count && calendar.EndOfDay(month + n, day) is var at && at <= last; n++)
            if (IsThrough(times, at))
                Add(MemberFigure.Stayed, month, n, false);
    }

    private void AddFree(long free, long? joined)
    {
        var month = calendar.IndexOf(free);
        Add(MemberFigure.FirstFree, month, 0, false);
        foreach (var days in FreeDays)
            if (joined - free <= days * Day)
                Add(MemberFigure.JoinedAfterFree, month, days, false);
    }

    /// <summary>Whole months from day to day: from the 31st to the 28th of February is one, as a billing day is clamped.</summary>
    private int MonthsBetween(long from, long until)
    {
        var (first, last) = (calendar.IndexOf(from), calendar.IndexOf(until));
        var isShort = calendar.DayOfMonth(until) < Math.Min(calendar.DayOfMonth(from), calendar.LengthOf(last));
        return Math.Max(0, last - first - (isShort ? 1 : 0));
    }

    private static bool IsPaidAt(ReadOnlySpan<Membered> times, long at)
    {
        foreach (var time in times)
            if (time.IsPaid && time.From <= at && at < time.Until)
                return true;
        return false;
    }

    /// <summary>A member before this instant and after it.</summary>
    private static bool IsThrough(ReadOnlySpan<Membered> times, long at)
    {
        var (before, after) = (false, false);
        foreach (var time in times)
        {
            before |= time.From < at && at <= time.Until;
            after |= time.From <= at && at < time.Until;
        }
        return before && after;
    }

    private void Add(MemberFigure figure, int month, int n, bool isPaid, int count = 1) => figures[(int)figure][Place(figure, month, n, isPaid)] += count;

    private int Place(MemberFigure figure, int month, int n, bool isPaid) => (((month * Width(figure)) + n) * 2) + (isPaid ? 1 : 0);

    private int Width(MemberFigure figure) => widths[(int)figure];

    private static int WidthOf(MemberFigure figure, int months) => figure switch
    {
        MemberFigure.Stayed or MemberFigure.LeftAfter => months + 1,
        MemberFigure.JoinedAfterFree => FreeDays[^1] + 1,
        MemberFigure.DropTakers => 31,
        _ => 1,
    };
}
