using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

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

    public static IReadOnlyList<BesideRow> Beside(LibrariesBeside both)
    {
        var notOver = both.AreAsMany ? null : T("not over yet");
        // What was begun lately is in neither, so one range may have fewer days of it than the other.
        var notAsLong = both.These.SettledDays == both.Those.SettledDays ? null : T($"not as long: {Plural.Of(both.These.SettledDays, "day")}, {Plural.Of(both.Those.SettledDays, "day")}");
        return
        [
            Row(T("Whole libraries finished"), b => b.Wanted, notOver), Row(T("Updates finished"), b => b.Updated, notOver), Row(T("Begun, a week ago or longer"), b => b.Begun, notAsLong),
            Row(T("of them never finished"), b => b.NotFinished, notAsLong), Row(T("Went on after a break"), b => b.Resumes, notAsLong),
            Seen(both, T("Came from another site"), both.Referrers), Seen(both, T("Looked for in vain"), both.Searches),
        ];

        BesideRow Row(string what, Func<BoxNumbers, int> figure, string? not) => BesideRow.Of(what, both.These.Boxes.Sum(figure), both.Those.Boxes.Sum(figure), not);
    }

    /// <summary>How often a host or a search came up, all of them or one, and how that stands to the days beside.</summary>
    public static BesideRow Seen(LibrariesBeside both, string what, SeenInBoth times) => BesideRow.Of(what, times.These, times.Those,
        !both.AreAsMany ? T("not over yet") : !both.AreWordsKept ? T("not all kept any more") : what == Sightings.Others ? T("not the same ones") : null);

    /// <summary>The bar of the days beside; null: none is to be held against it.</summary>
    public static int? ToBeShownBeside(LibrariesBeside? both, string what, int? times) => both is { AreWordsKept: true } && what != Sightings.Others ? times : null;

    /// <summary>Under hosts and searches: what the sums don't show. Empty: nothing.</summary>
    public static string Rest(IEnumerable<string> words, LocalDate? keptFrom)
    {
        List<string> said = [];
        // Not as the constant that it is: of a text without a gap no other language could be made.
        var others = Sightings.Others;
        if (words.Contains(others))
            said.Add(T($"Where a day had very many different ones, the rarer stand together as {others}, and are too few by themselves."));
        if (keptFrom is { } day)
            said.Add(T($"They are let go of after a time, as the terms of privacy say: of days before {NumbersWords.Day(day)} none is kept."));
        return string.Join(' ', said);
    }

    private static string Times(int count) => count switch { 1 => T("once"), 2 => T("twice"), _ => T($"{count:N0} times") };
}
