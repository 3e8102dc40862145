using System.Globalization;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>
/// The picture of who came and who went, a column a month: places and widths are percentages, heights pixels, so that it fits any page without stretching its
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

    /// <param name="months">One or more.</param>
    /// <param name="scale">How many people the highest column is at least: two pictures are compared in one scale.</param>
    public InAndOutBars(IReadOnlyList<MembersMonth> months, int scale = 0)
    {
        var highest = Math.Max(1, Math.Max(scale, Highest(months)));
        List<IReadOnlyList<MembersMonth>> rows = [.. MemberColumns.RowsOf(months)];
        var columns = Math.Min(months.Count, MemberColumns.InARow);
        Rows = rows.ConvertAll(r => Lay(r, highest, columns));
    }

    /// <param name="Y">Of the rectangle's top, px.</param>
    /// <param name="FigureY">Base line of the figure, px.</param>
    internal sealed record Bar(string X, string Width, string Middle, int Y, int Height, int Count, int FigureY);

    /// <param name="Letter">The month's, where there is no room for more.</param>
    internal sealed record Label(string Middle, string Words, string Letter);

    internal sealed record Row(int Height, int NameY, IReadOnlyList<Bar> In, IReadOnlyList<Bar> Out, IReadOnlyList<Label> Names, string Words);

    public IReadOnlyList<Row> Rows { get; }

    internal static int Highest(IReadOnlyList<MembersMonth> months) => months.Max(m => Math.Max(In(m), m.Left));

    /// <summary>Came, for the first time or again.</summary>
    internal static int In(MembersMonth month) => month.Joined + month.Returned;

    private static Row Lay(IReadOnlyList<MembersMonth> months, int highest, int columns)
    {
        var (up, down) = (Tall(months.Max(In)), Tall(months.Max(m => m.Left)));
        var zero = Figure + up;
        return new(
            zero + Name + down + Figure, zero + 19,
            [.. months.Select((m, i) => Column(i, zero - Tall(In(m)), Tall(In(m)), In(m), zero - Tall(In(m)) - 7))],
            [.. months.Select((m, i) => Column(i, zero + Name, Tall(m.Left), m.Left, zero + Name + Tall(m.Left) + 18))],
            [.. months.Select((m, i) => new Label(Percent((i + 0.5) * 100 / columns), MemberColumns.NameOf(months, i), m.Month.ToString("MMM", Say.Culture)[..1]))],
            string.Join("; ", months.Select(m => T($"{MemberNumbersWords.Month(m.Month)}: {In(m)} joined, {m.Left} left"))) + ".");

        int Tall(int count) => count == 0 ? 0 : Math.Max(2, (int)Math.Round((double)count / highest * Most));
        Bar Column(int i, int y, int height, int count, int figure) =>
            new(Percent((i + 0.1) * 100 / columns), Percent(80.0 / columns), Percent((i + 0.5) * 100 / columns), y, height, count, figure);
    }

    private static string Percent(double value) => value.ToString("0.###", CultureInfo.InvariantCulture) + "%";
}
