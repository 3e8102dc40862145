using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>One figure of both ranges.</summary>
/// <param name="Change">In words: "11 % more".</param>
internal sealed record BesideRow(string What, string These, string Those, string Change)
{
    /// <param name="not">Why no difference is said, "not over yet"; null: it is.</param>
    public static BesideRow Of(string what, long these, long those, string? not = null) => new(what, Beside.Count(these), Beside.Count(those), not ?? Beside.Change(these, those));
}

/// <summary>Other months that were asked for.</summary>
/// <param name="Trouble">Why they are not shown; null: they are.</param>
internal sealed record MonthsBeside(YearMonth From, YearMonth To, string? Trouble);

/// <summary>A second range beside the first: how its figures stand to each other, in words.</summary>
internal static class Beside
{
    /// <summary>
    /// "11 % more", "3.4 times as many", of the first range against the second; of fewer than ten in how many more, because one is a large share of them. The house's
    /// own bounds, no source.
    /// </summary>
    /// <param name="these">Of the first.</param>
    /// <param name="those">Of the second.</param>
    /// <param name="isMoney">In its smallest unit: few of them are no few people.</param>
    public static string Change(long these, long those, bool isMoney = false)
    {
        if (these == those)
            return these == 0 ? T("none in both") : T("as many");
        if (those == 0)
            return T("none beside");
        if (these == 0)
            return T("none now");
        if (!isMoney && IsCounted(these, those))
            return these > those ? T($"{these - those:N0} more") : T($"{those - these:N0} fewer");
        if (IsTimes(these, those))
            return T($"{(decimal)these / those:0.#} times as many");
        return InAHundred(these, those) switch
        {
            0 => T("about as many"),
            > 0 and var more => T($"{more:N0} % more"),
            var fewer => T($"{-fewer:N0} % fewer"),
        };
    }

    /// <summary>Whether <see cref="Change"/> says "as many", of neither none, however many times; else how many more or fewer.</summary>
    public static bool IsAsMany(int these, int those) => these == those || (!IsCounted(these, those) && (IsTimes(these, those) || InAHundred(these, those) == 0));

    private static bool IsCounted(long these, long those) => Math.Min(these, those) < 10;

    private static bool IsTimes(long these, long those) => these >= 3 * those;

    private static int InAHundred(long these, long those) => (int)Math.Round(100.0 * (these - those) / those, MidpointRounding.AwayFromZero);

    /// <summary>Of shares, in a hundred: "26 in a hundred more".</summary>
    public static string ChangeInAHundred(int these, int those) => these == those ? T("the same")
        : these > those ? T($"{these - those} in a hundred more") : T($"{those - these} in a hundred less");

    /// <summary>Of months, whole ones or half: "2 months more".</summary>
    public static string ChangeInMonths(double these, double those) => (these - those) switch
    {
        0 => T("the same"),
        1 => T("1 month more"),
        -1 => T("1 month less"),
        > 0 and var more => T($"{more:0.#} months more"),
        var less => T($"{-less:0.#} months less"),
    };

    /// <summary>A share in a hundred, of both; null: it is not known.</summary>
    public static BesideRow InAHundred(string what, int? these, int? those) => new(what, these?.ToString(Say.Culture) ?? "–", those?.ToString(Say.Culture) ?? "–",
        (these, those) is ({ } now, { } then) ? ChangeInAHundred(now, then) : T("not over yet"));

    /// <summary>"the 60 days from 1 August 2026", and that they are not over where they are not.</summary>
    public static string Days(DayRange other, DayRange these) => other.Days < these.Days
        ? T($"the {Plural.Of(other.Days, "day")} from {NumbersWords.Day(other.First)}, which are not over") : T($"the {Plural.Of(other.Days, "day")} from {NumbersWords.Day(other.First)}");

    /// <summary>"March 2025 to February 2026".</summary>
    public static string Months(YearMonth first, YearMonth last) => first == last ? MemberNumbersWords.Month(first) : T($"{MemberNumbersWords.Month(first)} to {MemberNumbersWords.Month(last)}");

    /// <summary>Which month is shown where of those that were asked for none has come yet; null: those that were asked for, as far as they have.</summary>
    public static string? ToCome(string? from, string? to, YearMonth shown, YearMonth present) =>
        (MemberNumbersWords.Read(from), MemberNumbersWords.Read(to)) is ({ } first, var last) && first > present && !(last <= present)
            ? T($"{MemberNumbersWords.Month(first)} has not come yet: {MemberNumbersWords.Month(shown)} is shown.") : null;

    /// <summary>Why days that were asked for are not shown; null: they are, or none were.</summary>
    public static string? Trouble(DaysBeside? asked) => asked switch
    {
        { AreToCome: true } => T($"Nothing stands beside it: {NumbersWords.Day(asked.Range.First)} has not come yet."),
        { IsKnown: false } => T($"Nothing stands beside it: of days before {NumbersWords.Day(asked.Earliest)} nothing is known."),
        _ => null,
    };

    /// <summary>Which days are shown where of those that were asked for none has come yet; null: those that were asked for, as far as they have.</summary>
    public static string? ToCome(string? from, string? to, DayRange shown, LocalDate today) =>
        DayRange.ToCome(from, to, today) is { } first ? T($"{NumbersWords.Day(first)} has not come yet: {NumbersWords.Day(shown.Last)} is shown.") : null;

    /// <summary>As many months from another one on, cut off behind the last that is known; null: none is asked for.</summary>
    public static MonthsBeside? ReadMonths(string? against, YearMonth first, YearMonth last, YearMonth earliest, YearMonth latest)
    {
        if (MemberNumbersWords.Read(against) is not { } from)
            return null;
        var to = from.PlusMonths(((last.Year - first.Year) * 12) + last.Month - first.Month);
        return new(from, to < latest ? to : latest,
            from < earliest ? T($"Nothing stands beside it: of months before {MemberNumbersWords.Month(earliest)} nothing is known.")
            : from > latest ? T($"Nothing stands beside it: {MemberNumbersWords.Month(from)} has not come yet.") : null);
    }

    public static string Count(long count) => count.ToString("N0", Say.Culture);
}
