using System.Globalization;
using System.Xml.Linq;
using SkiaSharp;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Puts our own drawings into pixels: rectangles, paths and circles, filled or stroked, and pictures within a picture, which cut off what leans out of them.</summary>
internal static class SvgShapes
{
    public static void Draw(SKCanvas canvas, string svg) => DrawAll(canvas, XDocument.Parse(svg).Root!);

    private static void DrawAll(SKCanvas canvas, XElement picture)
    {
        foreach (var shape in picture.Elements())
        {
            if (shape.Name.LocalName == "svg")
            {
                canvas.Save();
                canvas.Translate(Number(shape, "x"), Number(shape, "y"));
                canvas.ClipRect(SKRect.Create(Number(shape, "width"), Number(shape, "height")), antialias: true);
                DrawAll(canvas, shape);
                canvas.Restore();
                continue;
            }
            using var fill = PaintOf(shape, "fill", SKPaintStyle.Fill);
            using var stroke = PaintOf(shape, "stroke", SKPaintStyle.Stroke);
            foreach (var paint in new[] { fill, stroke }.OfType<SKPaint>())
                DrawOne(canvas, shape, paint);
        }
    }

    private static void DrawOne(SKCanvas canvas, XElement shape, SKPaint paint)
    {
        switch (shape.Name.LocalName)
        {
            case "path":
                using (var path = SKPath.ParseSvgPathData(shape.Attribute("d")!.Value))
                {
                    if (path is not null)
                        canvas.DrawPath(path, paint);
                }
                break;
            case "circle":
                canvas.DrawCircle(Number(shape, "cx"), Number(shape, "cy"), Number(shape, "r"), paint);
                break;
            case "rect":
                canvas.DrawRect(Number(shape, "x"), Number(shape, "y"), Number(shape, "width"), Number(shape, "height"), paint);
                break;
            default:
                throw new InvalidOperationException($"Our drawings have no {shape.Name.LocalName}.");
        }
    }

    /// <summary>Null: it has none.</summary>
    private static SKPaint? PaintOf(XElement shape, string name, SKPaintStyle style) => shape.Attribute(name)?.Value is { } colour and not "none"
        ? new SKPaint { Color = SKColor.Parse(colour), IsAntialias = true, Style = style, StrokeWidth = shape.Attribute("stroke-width") is null ? 1 : Number(shape, "stroke-width") } : null;

    private static float Number(XElement shape, string name) => float.Parse(shape.Attribute(name)?.Value ?? "0", CultureInfo.InvariantCulture);
}
