using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Keyprints;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>
/// Where a sealed version's pictures are. The number says which sealed folder; the mark says whatever else the picture depends on, so that at one address there is one
/// picture for good.
/// </summary>
internal static class KeyprintAddress
{
    public static string Large(string slug, string number, Paint paint) => $"/boxes/{slug}/{Uri.EscapeDataString(number)}/keyprint.svg?v={Mark(paint)}";

    public static string Small(string slug, string number, Paint paint) => $"/boxes/{slug}/{Uri.EscapeDataString(number)}/mark.svg?v={Mark(paint)}";

    /// <param name="slug">Of the box.</param>
    /// <param name="number">Of the version.</param>
    /// <param name="paint">Of the box.</param>
    /// <param name="isTied">The box is for members.</param>
    /// <param name="width">px; <see cref="SpineDrawing.Narrowest"/> to <see cref="SpineDrawing.Widest"/>.</param>
    public static string Spine(string slug, string number, Paint paint, bool isTied, int width) =>
        $"/boxes/{slug}/{Uri.EscapeDataString(number)}/spine.svg?width={width}&v={Mark(paint, isTied)}";

    /// <summary>The same box lying in a pile.</summary>
    public static string Pile(string slug, string number, Paint paint, bool isTied) => $"/boxes/{slug}/{Uri.EscapeDataString(number)}/pile.svg?v={Mark(paint, isTied)}";

    /// <summary>The picture for showing elsewhere, with words on it.</summary>
    public static string Share(string slug, string number, Paint paint, ShareWords words) => $"/boxes/{slug}/{Uri.EscapeDataString(number)}/share.png?v={Mark(paint, words)}";

    public static string Mark(Paint paint, ShareWords words) =>
        $"{Mark(paint)}-{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes($"{words.Title}\n{words.Counts}\n{words.Shop}")).AsSpan(0, 6))}";

    public static string Mark(Paint paint) => $"{Keyprint.Generation}-{paint.ToString().ToLowerInvariant()}";

    public static string Mark(Paint paint, bool isTied) => isTied ? $"{Mark(paint)}-tied" : $"{Mark(paint)}-free";
}
