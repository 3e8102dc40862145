using LibraryShelf.Packaging.Keyprints;
using SkiaSharp;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>A box as it stands on the shelf's share picture.</summary>
/// <param name="Print">Its reeds; may have none.</param>
/// <param name="Paint">Its colours.</param>
/// <param name="Title">Along its spine.</param>
/// <param name="Keys">How many, 0 to 128.</param>
/// <param name="Recordings">How many.</param>
/// <param name="IsTied">For members.</param>
internal sealed record ShareBox(Keyprint Print, PrintPaint Paint, string Title, int Keys, int Recordings, bool IsTied);

/// <summary>
/// Draws the shelf's share picture as PNG: the shop's name over a board on which the boxes stand by their spines (<see cref="SpineDrawing"/>), the newest pulled. Made like
/// <see cref="SharePicture"/>: the same in, the same bytes out.
/// </summary>
internal static class ShelfSharePicture
{
    private const int Margin = 56, Room = KeyprintDrawing.ShareWidth - 2 * Margin;

    /// <summary>The board's upper edge, and what the tallest box does not pass, px from the top.</summary>
    private const int BoardAt = 560, Top = 190;

    private const int Gap = 3, Risen = 26;

    /// <summary>More than on the page, px a recording: few boxes fill more of a picture that is looked at small.</summary>
    private const double WidestShare = 0.3;

    private const int LargestTitle = 40, SmallestTitle = 15;

    // As the page on a light screen (css/shelf.css).
    private static readonly SKColor Mist = SKColor.Parse("#dde5e6"), Ink = SKColor.Parse("#10242b"), Now = SKColor.Parse("#f0c23a");

    /// <param name="boxes">One at least, the newest first.</param>
    /// <param name="words">Over them.</param>
    public static byte[] Of(IReadOnlyList<ShareBox> boxes, ShareWords words)
    {
        using var surface = SKSurface.Create(new SKImageInfo(KeyprintDrawing.ShareWidth, KeyprintDrawing.ShareHeight, SKColorType.Rgba8888, SKAlphaType.Opaque));
        var canvas = surface.Canvas;
        canvas.Clear(Mist);
        using var ink = new SKPaint { Color = Ink, IsAntialias = true };
        var (size, name) = ShareLetters.Fit(words.Title, Room, 72, 40);
        ShareLetters.WriteName(canvas, name, Margin, Margin + 0.86f * size, size, ink);
        ShareLetters.WriteText(canvas, ShareLetters.CutText(words.Counts, Room, 29), Margin, Margin + 0.86f * size + 44, 29, ink);
        // Boxes keep their sizes to each other: a tall one makes all of them smaller.
        var scale = Math.Min(1, (BoardAt - Top) / (float)(boxes.Max(b => SpineDrawing.HeightOf(b.Keys)) + Risen));
        canvas.Translate(Margin, BoardAt);
        canvas.Scale(scale);
        DrawBoxes(canvas, boxes, Room / scale);
        canvas.DrawRect(-Margin / scale, 0, KeyprintDrawing.ShareWidth / scale, SpineDrawing.Board, ink);
        using var image = surface.Snapshot();
        using var png = image.Encode(SKEncodedImageFormat.Png, 100);
        return png.ToArray();
    }

    private static void DrawBoxes(SKCanvas canvas, IReadOnlyList<ShareBox> boxes, double room)
    {
        // As wide as a box has recordings, as on a board of the page.
        var share = Math.Clamp((room - (SpineDrawing.Narrowest + Gap) * boxes.Count) / Math.Max(1, boxes.Sum(b => (long)b.Recordings)), 0, WidestShare);
        for (int i = 0, x = 0; i < boxes.Count; i++)
        {
            var width = Math.Min(SpineDrawing.Widest, SpineDrawing.Narrowest + (int)(share * boxes[i].Recordings));
            DrawBox(canvas, boxes[i], x, width, isPulled: i == 0);
            x += width + Gap;
        }
    }

    private static void DrawBox(SKCanvas canvas, ShareBox box, int x, int width, bool isPulled)
    {
        var height = SpineDrawing.HeightOf(box.Keys);
        canvas.Save();
        canvas.Translate(x, -height - (isPulled ? Risen : 0));
        if (isPulled)
        {
            using var now = new SKPaint { Color = Now };
            canvas.DrawRect(0, height, width, Risen, now);
            // What it has under the board stays away meanwhile.
            canvas.ClipRect(new SKRect(-1, -1, width + 1, height + 1));
        }
        SvgShapes.Draw(canvas, SpineDrawing.Of(box.Print, box.Paint, width, box.Keys, box.IsTied));
        using var ink = new SKPaint { Color = SKColor.Parse(box.Paint.Ink), IsAntialias = true };
        var (size, title) = ShareLetters.Fit(box.Title, SpineDrawing.TitleRoom(box.Keys, box.IsTied), Math.Min(LargestTitle, width / 2), SmallestTitle);
        canvas.Translate(width / 2f, box.IsTied ? 48 : 30);
        canvas.RotateDegrees(90);
        ShareLetters.WriteName(canvas, title, 0, 0.35f * size, size, ink);
        canvas.Restore();
    }
}
