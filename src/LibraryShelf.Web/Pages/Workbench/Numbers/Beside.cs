using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>One figure of both ranges.</summary>
/// <param name="Change">In words: "11 % more".</param>
internal sealed record BesideRow(string What, string These, string Those, string Change)
{
    /// <param name="not">Why no difference is said, "not over yet"; null: it is.</param>
    public static BesideRow Of(string what, int these, int those, string? not = null) => new(what, Beside.Count(these), Beside.Count(those), not ?? Beside.Change(these, those));
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
    public static string Change(int these, int those)
    {
        if (these == those)
            return these == 0 ? T("none in both") : T("as many");
        if (those == 0)
            return T("none beside");
        if (these == 0)
            return T("none now");
        if (IsCounted(these, those))
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

    private static bool IsCounted(int these, int those) => Math.Min(these, those) < 10;

    private static bool IsTimes(int these, int those) => these >= 3 * (long)those;

    private static int InAHundred(int these, int those) => (int)Math.Round(100.0 * (these - those) / those, MidpointRounding.AwayFromZero);

    /// <summary>Of shares, in a hundred: "26 in a hundred more".</summary>
    public static string ChangeInAHundred(int these, int those) => these == those ? T("the same")
        : these > those ? T($"{these - those} in a hundred more") : T($"{those - these} in a hundred less");

    /// <summary>"the 60 days from 1 August 2026", and that they are not over where they are not.</summary>
    public static string Days(DayRange other, DayRange these) => other.Days < these.Days
        ? T($"the {Plural.Of(other.Days, "day")} from {NumbersWords.Day(other.First)}, which are not over") : T($"the {Plural.Of(other.Days, "day")} from {NumbersWords.Day(other.First)}");

    /// <summary>"March 2025 to February 2026".</summary>
    public static string Months(YearMonth first, YearMonth last) => first == last ? MemberNumbersWords.Month(first) : T($"{MemberNumbersWords.Month(first)} to {MemberNumbersWords.Month(last)}");

    /// <summary>Why days that were asked for are not shown; null: they are, or none were.</summary>
    public static string? Trouble(DaysBeside? asked) =>
        asked is { IsKnown: false } ? T($"Nothing stands beside it: of days before {NumbersWords.Day(asked.Earliest)} nothing is known.") : null;

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

    public static string Count(int count) => count.ToString("N0", Say.Culture);
}
