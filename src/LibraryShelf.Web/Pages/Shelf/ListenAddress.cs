namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Where what can be heard of a box is. The mark says which bytes, so that at one address there is one file for good.</summary>
internal static class ListenAddress
{
    private const int MarkDigits = 16;

    /// <param name="slug">Of the box.</param>
    /// <param name="number">Of the version.</param>
    /// <param name="name">Of the file.</param>
    /// <param name="sha256">Of its bytes.</param>
    public static string Of(string slug, string number, string name, string sha256) =>
        $"/boxes/{slug}/{Uri.EscapeDataString(number)}/listen/{name}?v={Mark(sha256)}";

    /// <param name="slug">Of the box.</param>
    /// <param name="kind">opus or wav.</param>
    /// <param name="sha256">Of its bytes.</param>
    public static string Music(string slug, string kind, string sha256) => $"/boxes/{slug}/music.{kind}?v={Mark(sha256)}";

    public static string Mark(string sha256) => sha256[..MarkDigits];
}
