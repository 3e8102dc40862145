using LibraryShelf.Core.Checking;

namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>
/// The picture for phones: a row a key, high on top, 44 pixels each. From the left: key, cents, takes (layers from softest to hardest, takes
/// below each other), flag.
/// </summary>
internal sealed class TallPicture
{
    public const double Width = 358, RowHeight = 44, Top = 30, KeyWidth = 56, CentsLeft = 66, CentsWidth = 122, FlagX = 344;

    public TallPicture(PictureKeys picture)
    {
        Picture = picture;
        Scale = CentsScale.For(picture);
        Height = Top + picture.Keys.Count * RowHeight + 2;
        TakesLeft = picture.HasCents ? CentsLeft + CentsWidth + 14 : CentsLeft + 6;
        for (var row = 0; row < picture.Keys.Count; row++)
            AddRow(row);
    }

    public PictureKeys Picture { get; }

    public CentsScale Scale { get; }

    public double Height { get; }

    public double TakesLeft { get; }

    public PictureMarks Takes { get; } = new();

    public PictureMarks Dots { get; } = new();

    /// <summary>High on top.</summary>
    public PictureKey Key(int row) => Picture.Keys[Picture.Keys.Count - 1 - row];

    public static double Y(int row) => Top + row * RowHeight;

    public double CentsX(double cents) => CentsLeft + CentsWidth / 2 * (1 + Scale.Place(cents));

    private void AddRow(int row)
    {
        var key = Key(row);
        var layers = Math.Min(Picture.Layers, 12);
        var across = Math.Min(14, (FlagX - 18 - TakesLeft) / layers);
        var rows = Math.Min(Picture.MostTakes, 4);
        var down = Math.Min(13, 38.0 / rows);
        foreach (var layer in key.Takes.GroupBy(t => (t.Layer - 1) * layers / Picture.Layers))
        {
            var fitted = PictureMarks.Fit([.. layer.Select(t => t.Verdict)], rows);
            for (var take = 0; take < fitted.Count; take++)
                Takes.Take(fitted[take], TakesLeft + (layer.Key + 0.5) * across, Y(row) + RowHeight / 2 + (take - (rows - 1) / 2.0) * down, Math.Min(across, down) - 2.5);
        }
        for (var dot = 0; dot < key.Cents.Count; dot++)
            Dots.Dot(key.Cents[dot].Verdict, CentsX(key.Cents[dot].Cents), Y(row) + 6 + 32 * (dot + 0.5) / key.Cents.Count);
    }
}
