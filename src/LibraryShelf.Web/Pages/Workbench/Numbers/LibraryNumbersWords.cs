using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The figures of the boxes in sentences; only what is known.</summary>
internal static class LibraryNumbersWords
{
    public static string Said(LibraryNumbers numbers)
    {
        List<string> said =
        [
            numbers.Boxes.MaxBy(b => b.Wanted) is { Wanted: > 0 } wanted
                ? T($"Most wanted: {wanted.Title}, finished {Times(wanted.Wanted)} whole.") : T("No whole library was finished in these days."),
        ];
        if (numbers.Boxes.MaxBy(b => b.Updated) is { Updated: > 0 } updated)
            said.Add(T($"Most updated: {updated.Title}, {Times(updated.Updated)}."));
        if (numbers.Boxes.Sum(b => b.Begun) is > 0 and var begun && numbers.Boxes.Sum(b => b.NotFinished) is > 0 and var left)
            said.Add(left == 1
                ? T($"Of {Plural.Of(begun, "download")} begun a week ago or longer, {left:N0} was never finished.")
                : T($"Of {Plural.Of(begun, "download")} begun a week ago or longer, {left:N0} were never finished."));
        return string.Join(' ', said);
    }

    /// <summary>"In the 60 days from 1 August 2026 36 whole libraries were finished: now 11 % more. …"</summary>
    public static string Compared(LibraryNumbers numbers, LibraryNumbers other)
    {
        var (wanted, updated) = (numbers.Boxes.Sum(b => b.Wanted), numbers.Boxes.Sum(b => b.Updated));
        var (then, updatedThen) = (other.Boxes.Sum(b => b.Wanted), other.Boxes.Sum(b => b.Updated));
        var days = Numbers.Beside.Days(other.Range, numbers.Range);
        return other.Range.Days < numbers.Range.Days
            ? T($"Whole libraries finished: {wanted:N0}, beside {then:N0} in {days}. Updates: {updated:N0} beside {updatedThen:N0}.")
            : T($"Whole libraries finished: {wanted:N0}, beside {then:N0} in {days}: {Numbers.Beside.Change(wanted, then)}. Updates: {updated:N0} beside {updatedThen:N0}, {Numbers.Beside.Change(updated, updatedThen)}.");
    }

    public static IReadOnlyList<BesideRow> Beside(LibraryNumbers numbers, LibraryNumbers other)
    {
        var notOver = other.Range.Days < numbers.Range.Days ? T("not over yet") : null;
        // What was begun lately is in neither, so one range may have fewer days of it than the other.
        var notAsLong = numbers.SettledDays == other.SettledDays ? null : T($"not as long: {Plural.Of(numbers.SettledDays, "day")}, {Plural.Of(other.SettledDays, "day")}");
        return
        [
            Row(T("Whole libraries finished"), b => b.Wanted, notOver), Row(T("Updates finished"), b => b.Updated, notOver), Row(T("Begun, a week ago or longer"), b => b.Begun, notAsLong),
            Row(T("of them never finished"), b => b.NotFinished, notAsLong), Row(T("Went on after a break"), b => b.Resumes, notAsLong),
        ];

        BesideRow Row(string what, Func<BoxNumbers, int> figure, string? not) => BesideRow.Of(what, numbers.Boxes.Sum(figure), other.Boxes.Sum(figure), not);
    }

    private static string Times(int count) => count switch { 1 => T("once"), 2 => T("twice"), _ => T($"{count:N0} times") };
}
