using System.Globalization;
using LibraryShelf.Core.Checking;

namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>
/// The picture for wide pages: a column a key. From the top: flags, words, cents of the plain estimates, takes a layer, keyboard. Units are
/// pixels; columns are equal, a semitone each.
/// </summary>
internal sealed class WidePicture
{
    public const double Width = 1132, LabelWidth = 92, KeyHeight = 36;
    private const double WidestColumn = 56, FlagTop = 4, WordsTop = 34, WordLine = 20, CentsHeight = 150, MostRowHeight = 17;
    /// <summary>Of a letter of 15 px, about.</summary>
    private const double LetterWidth = 7.6;

    private readonly double rowHeight;

    public WidePicture(PictureKeys picture)
    {
        Picture = picture;
        Column = Math.Min(WidestColumn, (Width - LabelWidth) / Math.Max(1, picture.Keys.Count));
        WordPlaces = PlaceWords();
        var lines = WordPlaces.Count > 0 ? WordPlaces.Max(w => w.Line) + 1 : 0;
        CentsTop = WordsTop + lines * WordLine + 8;
        TakesTop = picture.HasCents ? CentsTop + CentsHeight + 40 : CentsTop;
        rowHeight = Math.Clamp(256.0 / picture.Layers, 8, MostRowHeight);
        KeysTop = TakesTop + picture.Layers * rowHeight + 10;
        Height = KeysTop + 2 * KeyHeight + 2;
        Scale = CentsScale.For(picture);
        AddTakes();
        AddDots();
    }

    internal sealed record Word(string Text, double X, double Y, string Anchor, bool MustFix, int Line);

    public PictureKeys Picture { get; }

    public double Column { get; }

    public double CentsTop { get; }

    public double TakesTop { get; }

    public double KeysTop { get; }

    public double Height { get; }

    public CentsScale Scale { get; }

    public PictureMarks Takes { get; } = new();

    public PictureMarks Dots { get; } = new();

    public IReadOnlyList<Word> WordPlaces { get; }

    public double Right => LabelWidth + Column * Picture.Keys.Count;

    public double X(int index) => LabelWidth + index * Column;

    public double CentsY(double cents) => CentsTop + CentsHeight / 2 * (1 - Scale.Place(cents));

    public double LayerY(int layer) => TakesTop + (Picture.Layers - layer + 0.5) * rowHeight;

    /// <summary>Which layers have their name beside them: the ends and the middle, as far as there is room.</summary>
    public IEnumerable<(string Words, double Y)> LayerNames()
    {
        if (Picture.Layers == 1)
            yield break;
        for (var layer = 1; layer <= Picture.Layers; layer++)
            if (layer == 1 || layer == Picture.Layers || (Picture.Layers > 4 && Picture.Layers % 2 == 1 && layer == (Picture.Layers + 1) / 2))
                yield return (SheetWords.Layer(layer, Picture.Layers), LayerY(layer) + 5);
    }

    /// <summary>Left edge and width on the keyboard: a natural reaches half under its accidentals.</summary>
    public (double X, double Width) OnKeyboard(int index)
    {
        var key = Picture.Keys[index];
        var (left, right) = (X(index), X(index) + Column);
        if (!key.IsAccidental)
        {
            if (index > 0 && Picture.Keys[index - 1].IsAccidental) left -= Column / 2;
            if (index < Picture.Keys.Count - 1 && Picture.Keys[index + 1].IsAccidental) right += Column / 2;
        }
        return (left + 1, right - left - 2);
    }

    /// <summary>Every name where there is room, else the Cs.</summary>
    public bool IsNamed(PictureKey key) => Column >= 26 || (key.Key % 12 == 0 && Column * 1.5 >= 16) || (Column >= 20 && !key.IsAccidental);

    private void AddTakes()
    {
        var room = Math.Max(1, (int)((Column - 3) / 5));
        var marks = Math.Min(room, Picture.MostTakes);
        var step = Math.Min(12, (Column - 4) / marks);
        var size = Math.Min(step - 1.5, rowHeight - 5);
        for (var i = 0; i < Picture.Keys.Count; i++)
            foreach (var layer in Picture.Keys[i].Takes.GroupBy(t => t.Layer))
            {
                var fitted = PictureMarks.Fit([.. layer.Select(t => t.Verdict)], marks);
                var start = X(i) + (Column - step * marks) / 2 + step / 2;
                for (var take = 0; take < fitted.Count; take++)
                    Takes.Take(fitted[take], start + take * step, LayerY(layer.Key), size);
            }
    }

    private void AddDots()
    {
        for (var i = 0; i < Picture.Keys.Count; i++)
        {
            var dots = Picture.Keys[i].Cents;
            for (var take = 0; take < dots.Count; take++)
                Dots.Dot(dots[take].Verdict, X(i) + 3 + (Column - 6) * (take + 0.5) / dots.Count, CentsY(dots[take].Cents));
        }
    }

    /// <summary>Words beside the columns of what must be fixed, then of what is missing; left out where there is no room.</summary>
    private List<Word> PlaceWords()
    {
        const int mostLines = 3;
        var taken = new List<(double From, double To)>[mostLines];
        var words = new List<Word>();
        foreach (var index in Enumerable.Range(0, Picture.Keys.Count).Where(i => Picture.Keys[i] is { IsMissing: false, Words.Length: > 0 })
            .OrderBy(i => Picture.Keys[i].Verdict))
        {
            var key = Picture.Keys[index];
            var length = key.Words.Length * LetterWidth;
            var toRight = X(index) + Column + 5 + length <= Width;
            var from = toRight ? X(index) + Column + 5 : X(index) - 5 - length;
            var line = Array.FindIndex(taken, t => t is null || t.TrueForAll(o => from > o.To + 8 || from + length < o.From - 8));
            if (line < 0)
                continue;
            (taken[line] ??= []).Add((from, from + length));
            words.Add(new Word(key.Words, toRight ? from : X(index) - 5, WordsTop + line * WordLine + 15, toRight ? "start" : "end", key.Verdict == SheetVerdict.MustFix, line));
        }
        return words;
    }

    public static string N(double value) => value.ToString("0.#", CultureInfo.InvariantCulture);

    public static double FlagY => FlagTop + 12;

    public static double ColumnTop => WordsTop - 2;
}
