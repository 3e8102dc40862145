using System.Globalization;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>
/// A picture of two figures that belong together, a column a month, the one up and the other down: who came and who went, or what failed and what was paid after all. Places and widths are percentages, heights pixels, so that it fits any page without stretching its
/// words. A year to a row, all rows to one scale.
/// </summary>
internal sealed class InAndOutBars
{
    /// <summary>The highest column of all, px.</summary>
    private const int Most = 120;
    /// <summary>Room for a figure at a column's end, px.</summary>
    private const int Figure = 24;
    /// <summary>Room for the month's name between in and out, px.</summary>
    private const int Name = 28;

    private InAndOutBars(IReadOnlyList<MembersMonth> months, int scale, Func<MembersMonth, int> up, Func<MembersMonth, int> down, string legend, Func<MembersMonth, string> words)
    {
        var highest = Math.Max(1, Math.Max(scale, Highest(months, up, down)));
        List<IReadOnlyList<MembersMonth>> rows = [.. MemberColumns.RowsOf(months)];
        var columns = Math.Min(months.Count, MemberColumns.InARow);
        Rows = rows.ConvertAll(r => Lay(r, highest, columns, up, down, $"{legend} {string.Join("; ", r.Select(words))}."));
    }

    /// <summary>Who came, up, and who left, down.</summary>
    /// <param name="months">One or more.</param>
    /// <param name="scale">How many people the highest column is at least: two pictures are compared in one scale.</param>
    public static InAndOutBars OfMembers(IReadOnlyList<MembersMonth> months, int scale = 0) => new(
        months, scale, In, m => m.Left, T("Solid columns up: joined. Outlined columns down: left."), m => T($"{MemberNumbersWords.Month(m.Month)}: {In(m)} joined, {m.Left} left"));

    /// <summary>Renewals that failed, up, and those of them paid after all, down, of the months of which that is known; null: none failed in any of them.</summary>
    /// <param name="numbers">These months.</param>
    /// <param name="other">In whose scale too; null: there are no others.</param>
    public static InAndOutBars? OfRenewals(MemberNumbers numbers, MemberNumbers? other = null)
    {
        List<MembersMonth> months = [.. numbers.Months.Where(m => m.Failed is not null)];
        var scale = other?.Months.Max(m => m.Failed) ?? 0;
        return months.Sum(m => m.Failed) is null or 0 ? null : new(
            months, scale, m => m.Failed ?? 0, m => m.Recovered ?? 0, T("Solid columns up: failed. Outlined columns down: of these, paid after all."),
            m => T($"{MemberNumbersWords.Month(m.Month)}: {m.Failed ?? 0} failed, {m.Recovered ?? 0} paid after all"));
    }

    /// <param name="Y">Of the rectangle's top, px.</param>
    /// <param name="FigureY">Base line of the figure, px.</param>
    internal sealed record Bar(string X, string Width, string Middle, int Y, int Height, int Count, int FigureY);

    /// <param name="Letter">The month's, where there is no room for more.</param>
    internal sealed record Label(string Middle, string Words, string Letter);

    internal sealed record Row(int Height, int NameY, IReadOnlyList<Bar> In, IReadOnlyList<Bar> Out, IReadOnlyList<Label> Names, string Words);

    public IReadOnlyList<Row> Rows { get; }

    internal static int HighestOfMembers(IReadOnlyList<MembersMonth> months) => Highest(months, In, m => m.Left);

    private static int Highest(IReadOnlyList<MembersMonth> months, Func<MembersMonth, int> up, Func<MembersMonth, int> down) => months.Max(m => Math.Max(up(m), down(m)));

    /// <summary>Came, for the first time or again.</summary>
    internal static int In(MembersMonth month) => month.Joined + month.Returned;

    private static Row Lay(IReadOnlyList<MembersMonth> months, int highest, int columns, Func<MembersMonth, int> up, Func<MembersMonth, int> down, string words)
    {
        var zero = Figure + Tall(months.Max(up));
        return new(
            zero + Name + Tall(months.Max(down)) + Figure, zero + 19,
            [.. months.Select((m, i) => Column(i, zero - Tall(up(m)), Tall(up(m)), up(m), zero - Tall(up(m)) - 7))],
            [.. months.Select((m, i) => Column(i, zero + Name, Tall(down(m)), down(m), zero + Name + Tall(down(m)) + 18))],
            [.. months.Select((m, i) => new Label(Percent((i + 0.5) * 100 / columns), MemberColumns.NameOf(months, i), m.Month.ToString("MMM", Say.Culture)[..1]))],
            words);

        int Tall(int count) => count == 0 ? 0 : Math.Max(2, (int)Math.Round((double)count / highest * Most));
        Bar Column(int i, int y, int height, int count, int figure) =>
            new(Percent((i + 0.1) * 100 / columns), Percent(80.0 / columns), Percent((i + 0.5) * 100 / columns), y, height, count, figure);
    }

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
