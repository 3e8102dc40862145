using System.Globalization;
using System.Text;
using System.Xml.Linq;
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

    private static readonly SKTypeface[] Names = [Face("names.ttf"), Face("names-ext.ttf")];
    private static readonly SKTypeface[] Texts = [Face("text.ttf"), Face("text-ext.ttf")];

    public static byte[] Of(Keyprint print, PrintPaint paint, ShareWords words)
    {
        using var surface = SKSurface.Create(new SKImageInfo(KeyprintDrawing.ShareWidth, KeyprintDrawing.ShareHeight, SKColorType.Rgba8888, SKAlphaType.Opaque));
        var canvas = surface.Canvas;
        DrawShapes(canvas, KeyprintDrawing.Share(print, paint));
        using var ink = new SKPaint { Color = SKColor.Parse(paint.Ink), IsAntialias = true };
        var (size, lines) = Lines(words.Title);
        var y = Margin + 0.86f * size;
        foreach (var line in lines)
        {
            Write(canvas, line, y, Names, size, ink);
            y += size;
        }
        Write(canvas, words.Counts, y - size + 56, Texts, 29, ink);
        Write(canvas, Cut(words.Shop, Texts, 29), KeyprintDrawing.ShareHeight - Margin, Texts, 29, ink);
        using var image = surface.Snapshot();
        using var png = image.Encode(SKEncodedImageFormat.Png, 100);
        return png.ToArray();
    }

    /// <summary>The drawing is ours: rectangles and paths with a fill, nothing else.</summary>
    private static void DrawShapes(SKCanvas canvas, string svg)
    {
        foreach (var shape in XDocument.Parse(svg).Root!.Elements())
        {
            using var fill = new SKPaint { Color = SKColor.Parse(shape.Attribute("fill")!.Value), IsAntialias = true };
            if (shape.Attribute("d") is { } data)
            {
                using var path = SKPath.ParseSvgPathData(data.Value);
                if (path is not null)
                    canvas.DrawPath(path, fill);
            }
            else
            {
                canvas.DrawRect(0, 0, Number(shape, "width"), Number(shape, "height"), fill);
            }
        }
    }

    private static float Number(XElement shape, string name) => float.Parse(shape.Attribute(name)!.Value, CultureInfo.InvariantCulture);

    /// <summary>The largest size at which the name fits beside the print in a few lines; what does not fit even so is cut off.</summary>
    private static (int Size, IReadOnlyList<string> Lines) Lines(string title)
    {
        for (var size = LargestName; ; size -= 4)
        {
            var lines = Wrapped(title, size);
            if (size <= SmallestName)
                return (size, [.. lines.Take(MostLines).Select(l => Cut(l, Names, size))]);
            if (lines.Count <= MostLines && lines.TrueForAll(l => WidthOf(l, Names, size) <= WordsWidth))
                return (size, lines);
        }
    }

    private static List<string> Wrapped(string title, int size)
    {
        var lines = new List<string>();
        foreach (var word in title.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            if (lines.Count > 0 && WidthOf($"{lines[^1]} {word}", Names, size) <= WordsWidth)
                lines[^1] += " " + word;
            else
                lines.Add(word);
        }
        return lines;
    }

    private static string Cut(string line, SKTypeface[] faces, float size)
    {
        var cut = line;
        while (cut.Length > 1 && WidthOf(cut == line ? line : cut + "…", faces, size) > WordsWidth)
            cut = cut[..^(char.IsLowSurrogate(cut[^1]) ? 2 : 1)];
        return cut == line ? line : cut.TrimEnd() + "…";
    }

    private static float WidthOf(string line, SKTypeface[] faces, float size) => Runs(line, faces).Sum(run =>
    {
        using var font = FontOf(run.Face, size);
        return font.MeasureText(run.Text);
    });

    private static void Write(SKCanvas canvas, string line, float y, SKTypeface[] faces, float size, SKPaint ink)
    {
        float x = Margin;
        foreach (var (face, text) in Runs(line, faces))
        {
            using var font = FontOf(face, size);
            canvas.DrawText(text, x, y, SKTextAlign.Left, font, ink);
            x += font.MeasureText(text);
        }
    }

    private static SKFont FontOf(SKTypeface face, float size) => new(face, size) { Edging = SKFontEdging.Antialias, Hinting = SKFontHinting.None, Subpixel = true };

    /// <summary>Stretches of a line that one file has the letters of; what none has is drawn as the first's sign for that.</summary>
    private static List<(SKTypeface Face, string Text)> Runs(string line, SKTypeface[] faces)
    {
        var runs = new List<(SKTypeface Face, StringBuilder Text)>();
        foreach (var letter in line.EnumerateRunes())
        {
            var face = Array.Find(faces, f => Has(f, letter.Value)) ?? faces[0];
            if (runs.Count == 0 || runs[^1].Face != face)
                runs.Add((face, new StringBuilder()));
            runs[^1].Text.Append(letter.ToString());
        }
        return runs.ConvertAll(r => (r.Face, r.Text.ToString()));
    }

    private static bool Has(SKTypeface face, int letter)
    {
        using var font = new SKFont(face);
        return font.GetGlyph(letter) != 0;
    }

    private static SKTypeface Face(string name)
    {
        using var stream = typeof(SharePicture).Assembly.GetManifestResourceStream(name);
        return (stream is null ? null : SKTypeface.FromStream(stream))
            ?? throw new InvalidOperationException("The letters for pictures are not in this program: it was built in part. Build it anew.");
    }
}
