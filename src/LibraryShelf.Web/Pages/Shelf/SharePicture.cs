using LibraryShelf.Packaging.Keyprints;
using SkiaSharp;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>What stands on a share picture beside the print.</summary>
/// <param name="Title">Of the box.</param>
/// <param name="Counts">"25 keys, 480 recordings".</param>
/// <param name="Shop">Its name.</param>
internal sealed record ShareWords(string Title, string Counts, string Shop);

/// <summary>
/// Draws a library's share picture as PNG: its name left, its print right. The shapes are those of <see cref="KeyprintDrawing.Share"/>, put into pixels by one pinned version
/// of one library, the letters come from the page's own fonts, and there is no clock and no chance: the same in, the same bytes out.
/// </summary>
internal static class SharePicture
{
    private const int Margin = 56, WordsWidth = 430;

    private const int LargestName = 92, SmallestName = 44, MostLines = 4;

    public static byte[] Of(Keyprint print, PrintPaint paint, ShareWords words)
    {
        using var surface = SKSurface.Create(new SKImageInfo(KeyprintDrawing.ShareWidth, KeyprintDrawing.ShareHeight, SKColorType.Rgba8888, SKAlphaType.Opaque));
        var canvas = surface.Canvas;
        SvgShapes.Draw(canvas, KeyprintDrawing.Share(print, paint));
        using var ink = new SKPaint { Color = SKColor.Parse(paint.Ink), IsAntialias = true };
        var (size, lines) = ShareLetters.Lines(words.Title, WordsWidth, LargestName, SmallestName, MostLines);
        var y = Margin + 0.86f * size;
        foreach (var line in lines)
        {
            ShareLetters.WriteName(canvas, line, Margin, y, size, ink);
            y += size;
        }
        ShareLetters.WriteText(canvas, words.Counts, Margin, y - size + 56, 29, ink);
        ShareLetters.WriteText(canvas, ShareLetters.CutText(words.Shop, WordsWidth, 29), Margin, KeyprintDrawing.ShareHeight - Margin, 29, ink);
        using var image = surface.Snapshot();
        using var png = image.Encode(SKEncodedImageFormat.Png, 100);
        return png.ToArray();
    }
}
