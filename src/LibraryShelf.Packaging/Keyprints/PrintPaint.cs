namespace LibraryShelf.Packaging.Keyprints;

/// <summary>The three colours a picture is drawn in, each as "#rrggbb".</summary>
public sealed record PrintPaint(string Ground, string Ink, string Soft);
