using System.Globalization;
using LibraryShelf.Core.Statistics.Members;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The picture of how drops were taken: a line a drop, from a ring (within seven days) to a block (by now), in a hundred of whose it was.</summary>
internal sealed class UptakeRows
{
    /// <summary>Which of <see cref="UptakeLine.After"/> the ring is.</summary>
    private const int Week = 1;

    /// <summary>Room at both sides for the figures, percent.</summary>
    private const double Left = 9, Right = 11;

    public UptakeRows(DropNumbers numbers)
    {
        Rows = [.. numbers.Lines.Where(l => l.Holders > 0).Select(l => Row(l, l.Month == numbers.Latest))];
        Words = string.Join(" ", numbers.Lines.Where(l => l.Holders > 0).Select(l => l.AreOver[Week]
            ? T($"{MemberNumbersWords.DropName(l)}: {l.InAHundred(l.After[Week])} in a hundred within 7 days, {l.InAHundred(l.ByNow)} by now.")
            : T($"{MemberNumbersWords.DropName(l)}: {l.InAHundred(l.After[Week])} in a hundred within 7 days so far, {l.InAHundred(l.ByNow)} by now.")));
    }

    /// <param name="IsOver">False: its seven days are not over, and the ring is dashed.</param>
    internal sealed record Line(string Name, bool IsLatest, string RingX, int Ring, bool IsOver, string BlockX, int Block);

    public IReadOnlyList<Line> Rows { get; }

    public string Words { get; }

    /// <summary>Where so many in a hundred stand.</summary>
    public static string At(int inAHundred) => (Left + ((100 - Left - Right) * inAHundred / 100.0)).ToString("0.##", CultureInfo.InvariantCulture) + "%";

    private static Line Row(UptakeLine line, bool isLatest)
    {
        var (ring, block) = (line.InAHundred(line.After[Week]), line.InAHundred(line.ByNow));
        return new(MemberNumbersWords.DropName(line), isLatest, At(ring), ring, line.AreOver[Week], At(block), block);
    }
}
