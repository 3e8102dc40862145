using LibraryShelf.Core.Checking;

namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>Marks by verdict, each a path of its own, so that shape and colour go together.</summary>
internal sealed class PictureMarks
{
    public Shapes Fine { get; } = new();

    public Shapes Excused { get; } = new();

    public Shapes ListenAgain { get; } = new();

    public Shapes MustFix { get; } = new();

    /// <summary>A take in a room of <paramref name="size"/> around its middle.</summary>
    public void Take(SheetVerdict verdict, double x, double y, double size)
    {
        switch (verdict)
        {
            case SheetVerdict.MustFix: MustFix.Diamond(x, y, size * 0.72); break;
            case SheetVerdict.ListenAgain: ListenAgain.Ring(x, y, size * 0.46); break;
            case SheetVerdict.Excused: Excused.Box(x - size * 0.4, y - size * 0.4, size * 0.8, size * 0.8); break;
            default: Fine.Box(x - size / 2, y - size / 2, size, size); break;
        }
    }

    /// <summary>A take's pitch: small, because there are many beside each other.</summary>
    public void Dot(SheetVerdict verdict, double x, double y)
    {
        switch (verdict)
        {
            case SheetVerdict.MustFix: MustFix.Diamond(x, y, 5); break;
            case SheetVerdict.ListenAgain: ListenAgain.Ring(x, y, 4); break;
            default: Fine.Ring(x, y, 2); break;
        }
    }

    /// <summary>
    /// Verdicts of one layer's takes for at most <paramref name="room"/> marks: when there are more takes, neighbours share a mark and the worst
    /// of them is shown.
    /// </summary>
    public static IReadOnlyList<SheetVerdict> Fit(IReadOnlyList<SheetVerdict> takes, int room) =>
        takes.Count <= room ? takes : [.. takes.Select((verdict, i) => (verdict, At: i * room / takes.Count)).GroupBy(t => t.At).Select(g => g.Min(t => t.verdict))];
}
