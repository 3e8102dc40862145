using LibraryShelf.Packaging.Keyprints;

namespace LibraryShelf.Core.Catalog;

/// <summary>The colours of each paint, for pictures; the same as the style sheet's, which a test compares.</summary>
public static class PaintColours
{
    public static PrintPaint Of(Paint paint) => paint switch
    {
        Paint.Bottle => new("#0f4f45", "#eaf3ef", "#7fafa3"),
        Paint.Samphire => new("#a9bf4b", "#10242b", "#4f6235"),
        Paint.Zinc => new("#aebdbe", "#10242b", "#52656a"),
        Paint.Night => new("#1f3a5f", "#eaf1f6", "#8ba3c2"),
        Paint.Chalk => new("#f4f7f6", "#10242b", "#7c8c90"),
        Paint.Tar => new("#24201f", "#efe9e2", "#8f8780"),
        Paint.Thrift => new("#e3a9b8", "#10242b", "#804f61"),
        Paint.Oxide => new("#6e2433", "#f7e9ea", "#c08a93"),
        Paint.Sky => new("#86b6c6", "#10242b", "#355c6b"),
        Paint.Weed => new("#43592f", "#f1f5e8", "#a3b68b"),
        _ => throw new ArgumentOutOfRangeException(nameof(paint)),
    };
}
