using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Pages.Words;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Members and drops in sentences; only what is known.</summary>
internal static class MemberNumbersWords
{
    /// <summary>"November 2026".</summary>
    public static string Month(YearMonth month) => DayWords.Month(month);

    /// <summary>"Nov 2026", for tables.</summary>
    public static string ShortMonth(YearMonth month) => month.ToString(T("MMM uuuu"), Say.Culture);

    /// <summary>"November", where its year is known.</summary>
    public static string MonthOfYear(YearMonth month) => month.ToString("MMMM", Say.Culture);

    /// <summary>Over the pictures of who came and who went.</summary>
    /// <param name="present">The month that is not over; null: all are.</param>
    public static string InAndOut(YearMonth? present) => present is { } month
        ? T($"Solid: joined, or came back. Outlined: left. {MonthOfYear(month)} is not over.") : T("Solid: joined, or came back. Outlined: left.");

    /// <summary>"431 members, 18 more than at the start of November."</summary>
    public static string Said(MemberNumbers numbers)
    {
        var members = Plural.Opening(numbers.Members, "member");
        if (numbers.Months is not [.., { IsOver: false } present])
            return $"{members}.";
        var start = MonthOfYear(present.Month);
        var said = (numbers.Members - present.AtStart) switch
        {
            0 => T($"{members}, as many as at the start of {start}."),
            > 0 and var more => T($"{members}, {more} more than at the start of {start}."),
            var fewer => T($"{members}, {-fewer} fewer than at the start of {start}."),
        };
        return present.Joined + present.Returned + present.Left == 0 ? said : $"{said} {SinceThen(present)}";
    }

    /// <summary>"In October 2026 5 left, 4.2 % of 120 members at its start." Of the last month that is over; empty: it began without any.</summary>
    public static string Churned(MemberNumbers numbers) => numbers.Months.LastOrDefault(m => m.IsOver) switch
    {
        null or { AtStart: 0 } => "",
        { Left: 0 } month => T($"In {Month(month.Month)} nobody left."),
        var month => T($"In {Month(month.Month)} {month.Left:N0} left, {Churn(month)} of {Plural.Of(month.AtStart, "member")} at its start."),
    };

    private static string SinceThen(MembersMonth month) => month.Returned == 0
        ? T($"Since then {month.Joined} joined, {month.Left} left.")
        : T($"Since then {month.Joined} joined, {month.Returned} came back, {month.Left} left.");

    /// <summary>"41 joined in these months, beside 30 in March 2025 to February 2026: 37 % more. 20 left beside 25, 20 % fewer."</summary>
    public static string Compared(MemberNumbers numbers, MemberNumbers other)
    {
        var (joined, left, then, leftThen) = (numbers.Months.Sum(m => m.Joined), numbers.Months.Sum(m => m.Left), other.Months.Sum(m => m.Joined), other.Months.Sum(m => m.Left));
        var months = Beside.Months(other.First, other.Last);
        return NotOver(numbers, other) is null
            ? T($"In the months shown {joined} joined, beside {then} in {months}: {Beside.Change(joined, then)}. {left} left, beside {leftThen}: {Beside.Change(left, leftThen)}.")
            : T($"In the months shown {joined} joined, beside {then} in {months}. {left} left, beside {leftThen}. {Month(numbers.Present)} is not over, so no difference is said.");
    }

    /// <summary>Null: all months of both are over, and they are as many.</summary>
    private static string? NotOver(MemberNumbers numbers, MemberNumbers other) =>
        numbers.Months.Count == other.Months.Count && numbers.Months.Concat(other.Months).All(m => m.IsOver) ? null : T("not over yet");

    public static IReadOnlyList<BesideRow> BesideRows(MemberNumbers numbers, MemberNumbers other)
    {
        return
        [
            BesideRow.Of(T("Months"), numbers.Months.Count, other.Months.Count, numbers.Months.Count == other.Months.Count ? null : T("not as long")),
            BesideRow.Of(T("Members at the start"), numbers.Months[0].AtStart, other.Months[0].AtStart), Row(T("Joined"), m => m.Joined), Row(T("Came back"), m => m.Returned), Row(T("Left"), m => m.Left),
            BesideRow.Of(T("Members at the end"), numbers.Months[^1].AtEnd, other.Months[^1].AtEnd),
            .. numbers.Months.Concat(other.Months).All(m => m.Failed is not null) ? [Row(T("Renewals failed"), m => m.Failed ?? 0), Row(T("of them paid after all"), m => m.Recovered ?? 0)] : Array.Empty<BesideRow>(),
            .. numbers.Months[^1].Income.Concat(other.Months[^1].Income).Select(i => i.Currency).Distinct(StringComparer.Ordinal).Select(c => IncomeRow(numbers.Months[^1], other.Months[^1], c)),
            .. new[] { 1, 3, 6, 12 }.Select(n => (n, now: numbers.StillAfter(n), then: other.StillAfter(n))).Where(s => s.now is not null || s.then is not null)
                .Select(s => Beside.InAHundred(T($"Of who joined, still members after {Plural.Of(s.n, "month")}, in a hundred"), s.now, s.then)),
            .. new[] { 7, 30, 90 }.Select((days, i) => (days, now: numbers.JoinedWithin(i), then: other.JoinedWithin(i))).Where(s => s.now is not null || s.then is not null)
                .Select(s => Beside.InAHundred(T($"Joined within {Plural.Of(s.days, "day")} of a first free download, in a hundred"), s.now, s.then)),
            BesideRow.Of(T("First stays that ended"), numbers.Leavers, other.Leavers, NotOver(numbers, other)),
            .. (numbers.MedianMonths, other.MedianMonths) is ({ } these, { } those)
                ? [new(T("Half of them after so many months, or sooner"), these.ToString("0.#", Say.Culture), those.ToString("0.#", Say.Culture), Beside.ChangeInMonths(these, those))] : Array.Empty<BesideRow>(),
        ];

        BesideRow Row(string what, Func<MembersMonth, int> figure) => BesideRow.Of(what, numbers.Months.Sum(figure), other.Months.Sum(figure), NotOver(numbers, other));
    }

    /// <summary>Of what holds at an instant, so the month may not be over; of one in which nothing was written down nothing is known.</summary>
    private static BesideRow IncomeRow(MembersMonth these, MembersMonth those, string currency)
    {
        var (now, then) = (Minor(these), Minor(those));
        return new(T($"Income a month at the end, in {currency}"), Said(now), Said(then), (now, then) is ({ } a, { } b) ? Beside.Change(a, b, isMoney: true) : T("not known of both"));

        long? Minor(MembersMonth month) => month.IsOver && month.Income.Count == 0 ? null : month.Income.FirstOrDefault(i => i.Currency == currency)?.Minor ?? 0;
        string Said(long? minor) => minor is { } m ? Money.Of(m, currency) : "–";
    }

    /// <summary>"The drops of March 2026 to May 2026 came to 45 in a hundred within 7 days, the middle of them; these to 50."</summary>
    public static string Compared(DropNumbers numbers, DropNumbers other)
    {
        var months = Beside.Months(other.First, other.Last);
        if (other.Lines.All(l => l.Holders == 0))
            return T($"In {months} no drop went out to anybody.");
        const int Week = 1;
        return (numbers.Middle(Week), other.Middle(Week)) is ({ } now, { } then)
            ? T($"Within 7 days the drops shown came to {now} in a hundred, the middle of them; those of {months} to {then}: {Beside.ChangeInAHundred(now, then)}.")
            : T($"Of the drops shown, or of those of {months}, seven days are not over yet.");
    }

    public static IReadOnlyList<BesideRow> BesideRows(DropNumbers numbers, DropNumbers other) =>
    [
        BesideRow.Of(T("Drops"), numbers.Lines.Count, other.Lines.Count),
        BesideRow.Of(T("People whose they were, drop by drop"), numbers.Lines.Sum(l => l.Holders), other.Lines.Sum(l => l.Holders)),
        .. DropUptake.Days.Select((days, i) => Beside.InAHundred(T($"Within {Plural.Of(days, "day")}, in a hundred, the middle"), numbers.Middle(i), other.Middle(i))),
    ];

    /// <summary>Who of them pays, and who was given it.</summary>
    public static string Kinds(MemberNumbers numbers) => numbers switch
    {
        { Members: 0 } => "",
        { Given: 0 } => T("All of them pay."),
        { Paying: 0 } => T("All of them were given it by your hand."),
        { Paying: 1, Given: 1 } => T($"{numbers.Paying} of them pays, {numbers.Given} was given it by your hand."),
        { Paying: 1 } => T($"{numbers.Paying} of them pays, {numbers.Given} were given it by your hand."),
        { Given: 1 } => T($"{numbers.Paying} of them pay, {numbers.Given} was given it by your hand."),
        _ => T($"{numbers.Paying} of them pay, {numbers.Given} were given it by your hand."),
    };

    /// <summary>"£1,240.00 a month from 206 memberships"; each currency by itself.</summary>
    public static string Income(MemberNumbers numbers) => numbers is { Income.Count: 0, Paying: 0 } ? T("No paid membership is running.")
        : numbers.Income.Count == 0 ? T("Nothing comes in each month: every paid membership that runs is left at its end, rests, or has a price that is not known here.")
        : string.Join(" ", numbers.Income.Select(i => T($"{Money.Of(i.Minor, i.Currency)} a month from {Plural.Of(i.Memberships, "membership")}.")));

    public static string Sums(IReadOnlyList<MonthlyIncome> income) => string.Join(" + ", income.Select(i => Money.Of(i.Minor, i.Currency)));

    /// <summary>"6.3 %".</summary>
    public static string Churn(MembersMonth month) => month.Churn is { } share ? (share * 100).ToString("0.0", Say.Culture) + " %" : "";

    /// <summary>Failed and recovered renewals of the months shown.</summary>
    public static string Failed(MemberNumbers numbers)
    {
        if (numbers.KnownSince is not { } since)
            return T("No failed renewal has been written down yet.");
        var (failed, recovered) = (numbers.Months.Sum(m => m.Failed ?? 0), numbers.Months.Sum(m => m.Recovered ?? 0));
        var renewals = Plural.Opening(failed, "renewal");
        return (failed, recovered) switch
        {
            (0, _) => T($"{renewals} failed. Written down since {Month(since)}."),
            (_, 1) => T($"{renewals} failed, {recovered} of them was paid after all. Written down since {Month(since)}."),
            _ => T($"{renewals} failed, {recovered} of them were paid after all. Written down since {Month(since)}."),
        };
    }

    /// <summary>"Half of the 38 who left did so within 4 months."</summary>
    public static string Median(MemberNumbers numbers)
    {
        if (numbers.MedianMonths is not { } months)
            return T("Nobody’s first stay ended in these months.");
        var people = Plural.Opening(numbers.Leavers, "person");
        return (numbers.Leavers == 1, months == 1) switch
        {
            (true, true) => T($"One person’s first stay ended, half of them after {months:0.#} month or sooner."),
            (true, false) => T($"One person’s first stay ended, half of them after {months:0.#} months or sooner."),
            (false, true) => T($"{people} ended their first stay, half of them after {months:0.#} month or sooner."),
            (false, false) => T($"{people} ended their first stay, half of them after {months:0.#} months or sooner."),
        };
    }

    /// <summary>By what the maker called it, or what was in it.</summary>
    public static string DropName(UptakeLine line) => line.Titles.Count > 0 ? string.Join(", ", line.Titles) : line.Title.Length > 0 ? line.Title : Month(line.Month);

    /// <summary>The latest drop against the months before it.</summary>
    public static string Said(DropNumbers numbers)
    {
        if (numbers.Lines.FirstOrDefault(l => l.Holders > 0) is not { } line)
            return numbers.Waiting > 0 ? T("A drop went out. It is counted within minutes.") : T("No drop went out to anybody in these months.");
        var said = T($"{line.InAHundred(line.ByNow)} in a hundred have taken the drop of {Month(line.Month)} by now.");
        // The longest time that is over says most.
        var which = Enumerable.Range(0, line.AreOver.Count).LastOrDefault(i => line.AreOver[i], -1);
        if (which < 0)
            return said;
        var (days, taken) = (Plural.Of(DropUptake.Days[which], "day"), line.InAHundred(line.After[which]));
        return numbers.UsuallyBefore(line, which) is { } usual
            ? $"{said} {T($"Within {days} it was {taken}; the drops before it usually came to {usual}.")}"
            : $"{said} {T($"Within {days} it was {taken}.")}";
    }

    /// <summary>How many took it within one of <see cref="DropUptake.Days"/>, and how many in a hundred that is: "12 (40) so far".</summary>
    public static string Taken(UptakeLine line, int which)
    {
        var (people, share) = (line.After[which], line.InAHundred(line.After[which]));
        return line.AreOver[which] ? string.Create(Say.Culture, $"{people} ({share})") : T($"{people} ({share}) so far");
    }

    public static string Iso(YearMonth month) => YearMonthPattern.Iso.Format(month);

    /// <summary>As an address has it; null: not one.</summary>
    public static YearMonth? Read(string? text) => YearMonthPattern.Iso.Parse(text?.Trim() ?? "") is { Success: true } read && read.Value.Year is >= 1970 and <= 9000 ? read.Value : null;
}
