namespace LibraryShelf.Web.Pages.Shelf.Boards;

/// <summary>
/// How a title is set along a spine: <paramref name="Size"/> in px and <paramref name="Width"/> in per cent of the face's width axis, even, so that the style sheet
/// has a class for each (.s19 to .s40, .w50 to .w150).
/// </summary>
internal sealed record SpineTitle(int Size, int Width)
{
    public const int Smallest = 19, Largest = 40;

    /// <summary>Below this width the letters are hard to tell apart: the size gives way first.</summary>
    private const int Readable = 62;

    /// <summary>
    /// The largest size, and the width that makes the title as long as the room. Where it would be narrower than is readable, smaller, down to <see cref="Smallest"/>; then
    /// narrower; what is too long even so is cut off by the page.
    /// </summary>
    /// <param name="title">In the face of names.</param>
    /// <param name="room">px along the spine.</param>
    /// <param name="largest">px; at least <see cref="Smallest"/> is taken, at most <see cref="Largest"/>.</param>
    public static SpineTitle Fit(string title, double room, double largest)
    {
        for (var size = Math.Clamp((int)largest, Smallest, Largest); ; size--)
        {
            var (narrow, wide) = (NameWidths.Of(title, NameWidths.Narrowest) * size, NameWidths.Of(title, NameWidths.Widest) * size);
            var width = wide <= narrow ? NameWidths.Widest : NameWidths.Narrowest + (NameWidths.Widest - NameWidths.Narrowest) * (room - narrow) / (wide - narrow);
            if (width >= Readable || size == Smallest)
                return new SpineTitle(size, 2 * (int)(Math.Clamp(width, NameWidths.Narrowest, NameWidths.Widest) / 2));
        }
    }
}
