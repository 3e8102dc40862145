using System.Text;
using SkiaSharp;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Writes lines on share pictures, in the page's own letters: names and other text.</summary>
internal static class ShareLetters
{
    private static readonly SKTypeface[] Names = [Face("names.ttf"), Face("names-ext.ttf")];
    private static readonly SKTypeface[] Texts = [Face("text.ttf"), Face("text-ext.ttf")];

    /// <summary>The largest size at which the name fits in a few lines; what does not fit even so is cut off.</summary>
    public static (int Size, IReadOnlyList<string> Lines) Lines(string title, int width, int largest, int smallest, int mostLines)
    {
        for (var size = largest; ; size -= 4)
        {
            var lines = Wrapped(title, width, size);
            if (size <= smallest)
                return (size, [.. lines.Take(mostLines).Select(l => Cut(l, Names, width, size))]);
            if (lines.Count <= mostLines && lines.TrueForAll(l => WidthOf(l, Names, size) <= width))
                return (size, lines);
        }
    }

    public static string CutText(string line, int width, float size) => Cut(line, Texts, width, size);

    /// <param name="canvas">Written on.</param>
    /// <param name="line">In the face of names.</param>
    /// <param name="x">Where it begins.</param>
    /// <param name="y">Of its base line.</param>
    /// <param name="size">Of the letters.</param>
    /// <param name="ink">Its colour.</param>
    public static void WriteName(SKCanvas canvas, string line, float x, float y, float size, SKPaint ink) => Write(canvas, line, x, y, Names, size, ink);

    /// <inheritdoc cref="WriteName"/>
    public static void WriteText(SKCanvas canvas, string line, float x, float y, float size, SKPaint ink) => Write(canvas, line, x, y, Texts, size, ink);

    /// <summary>On one line: the largest size at which the name fits; what does not fit even at the smallest is cut off.</summary>
    public static (float Size, string Line) Fit(string name, int width, float largest, float smallest)
    {
        var size = largest;
        while (size > smallest && WidthOf(name, Names, size) > width)
            size--;
        return (size, Cut(name, Names, width, size));
    }

    private static List<string> Wrapped(string title, int width, int size)
    {
        var lines = new List<string>();
        foreach (var word in title.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            if (lines.Count > 0 && WidthOf($"{lines[^1]} {word}", Names, size) <= width)
                lines[^1] += " " + word;
            else
                lines.Add(word);
        }
        return lines;
    }

    private static string Cut(string line, SKTypeface[] faces, int width, float size)
    {
        var cut = line;
        while (cut.Length > 1 && WidthOf(cut == line ? line : cut + "…", faces, size) > width)
            cut = cut[..^(char.IsLowSurrogate(cut[^1]) ? 2 : 1)];
        return cut == line ? line : cut.TrimEnd() + "…";
    }

    private static float WidthOf(string line, SKTypeface[] faces, float size) => Runs(line, faces).Sum(run =>
    {
        using var font = FontOf(run.Face, size);
        return font.MeasureText(run.Text);
    });

    private static void Write(SKCanvas canvas, string line, float x, float y, SKTypeface[] faces, float size, SKPaint ink)
    {
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
        using var stream = typeof(ShareLetters).Assembly.GetManifestResourceStream(name);
        return (stream is null ? null : SKTypeface.FromStream(stream))
            ?? throw new InvalidOperationException("The letters for pictures are not in this program: it was built in part. Build it anew.");
    }
}
