using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Keyprints;
using NodaTime;

namespace LibraryShelf.Web.Pages.Shelf.Boards;

/// <summary>A box as it stands on a board, and as it lies in the pile that the board becomes on a narrow screen.</summary>
/// <param name="Box">What stands there.</param>
/// <param name="Width">Of the spine, px.</param>
/// <param name="Spine">Its title along the spine.</param>
/// <param name="Pile">Its title in the pile.</param>
internal sealed record BoardBox(ShelfBox Box, int Width, SpineTitle Spine, SpineTitle Pile)
{
    public bool IsTied => Box.Audience == Audience.Members;
}

/// <summary>A board with its boxes, newest first.</summary>
/// <param name="Heading">The year, or its months where a year needs more boards; null: it is the only board.</param>
/// <param name="Boxes">1 to <see cref="Most"/>.</param>
/// <param name="Ticks">Numbers of keys that a line is drawn for, as high as a box with so many.</param>
/// <param name="Tallest">Its tallest box, px above the board.</param>
internal sealed record Board(string? Heading, IReadOnlyList<BoardBox> Boxes, IReadOnlyList<int> Ticks, int Tallest)
{
    /// <summary>On one board; with more than these the shelf has one for each year, and a year as many as it needs.</summary>
    public const int Most = 16;

    private const int Length = 1184, BesideTicks = 54, Gap = 3, ComingWidth = 60;

    private const double WidestShare = 0.085;

    /// <summary>Usual sizes of keyboards, and the whole one.</summary>
    private static readonly int[] Keyboards = [16, 25, 37, 49, 61, 88];

    private static string NameOf(int month) => Say.Culture.DateTimeFormat.GetMonthName(month);

    /// <param name="boxes">All of the shelf, newest first.</param>
    /// <param name="zone">Whose days the shop keeps.</param>
    /// <param name="isMoreComing">The first board leaves room for the next drop.</param>
    public static IReadOnlyList<Board> Of(IReadOnlyList<ShelfBox> boxes, DateTimeZone zone, bool isMoreComing)
    {
        if (boxes.Count <= Most)
            return boxes.Count == 0 ? [] : [Make(null, boxes, isMoreComing)];
        var boards = boxes.GroupBy(b => DayOf(b, zone).Year)
            .SelectMany(year => Parts([.. year]).Select(part => (Part: part, IsWhole: part.Count == year.Count()))).ToList();
        return [.. boards.Select((b, i) => Make(HeadingOf(b.Part, b.IsWhole, zone), b.Part, isMoreComing && i == 0))];
    }

    /// <summary>As many boards as a year needs, about equally full.</summary>
    private static IEnumerable<List<ShelfBox>> Parts(List<ShelfBox> year)
    {
        var boards = (year.Count + Most - 1) / Most;
        for (var i = 0; i < boards; i++)
            yield return year[(i * year.Count / boards)..((i + 1) * year.Count / boards)];
    }

    private static string HeadingOf(List<ShelfBox> part, bool isWholeYear, DateTimeZone zone)
    {
        var (from, to) = (DayOf(part[^1], zone), DayOf(part[0], zone));
        return isWholeYear ? to.Year.ToString(CultureInfo.InvariantCulture)
            : from.Month == to.Month ? to.ToString(T("MMMM uuuu"), Say.Culture) : T($"{NameOf(from.Month)} to {NameOf(to.Month)} {to.Year}");
    }

    private static LocalDate DayOf(ShelfBox box, DateTimeZone zone) => Instant.FromDateTimeOffset(box.Latest.PublishedAt).InZone(zone).Date;

    private static Board Make(string? heading, IReadOnlyList<ShelfBox> boxes, bool isMoreComing)
    {
        var room = Length - BesideTicks - Gap * boxes.Count - (isMoreComing ? ComingWidth : 0) - SpineDrawing.Narrowest * boxes.Count;
        var share = Math.Clamp((double)room / Math.Max(1, boxes.Sum(b => (long)b.Latest.Row.Recordings)), 0, WidestShare);
        var most = boxes.Max(b => b.Latest.Row.Keys);
        return new Board(heading, [.. boxes.Select(b => Stand(b, share))], [.. Keyboards.Where(k => k <= Math.Max(most, Keyboards[0]))], SpineDrawing.HeightOf(most));
    }

    private static BoardBox Stand(ShelfBox box, double share)
    {
        var (row, isTied) = (box.Latest.Row, box.Audience == Audience.Members);
        var width = Math.Min(SpineDrawing.Widest, SpineDrawing.Narrowest + (int)(share * row.Recordings));
        return new BoardBox(box, width,
            SpineTitle.Fit(box.Title, SpineDrawing.TitleRoom(row.Keys, isTied), width / 2d),
            SpineTitle.Fit(box.Title, PileDrawing.TitleRoom(row.Keys, isTied), PileDrawing.ThicknessOf(row.Recordings) / 2d));
    }
}
