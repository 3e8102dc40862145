using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Shelf.Boards;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>The shelf's picture for showing elsewhere: its newest boxes, as many as stand on one board, what is written over them, and where the picture is.</summary>
/// <param name="Boxes">1 to <see cref="Board.Most"/>, newest first.</param>
/// <param name="Words">Over them.</param>
internal sealed record ShelfShare(IReadOnlyList<ShelfBox> Boxes, ShareWords Words)
{
    /// <returns>Null: nothing stands there.</returns>
    public static ShelfShare? Of(ShelfList shelf, string shop) => shelf.All == 0 ? null
        : new([.. shelf.NewestFirst.Take(Board.Most)], new(shop, T($"{Plural.Opening(shelf.All, "box")} of recordings, played note by note."), ""));

    public string Address => $"/share.png?v={Mark}";

    /// <summary>Says all that the picture depends on.</summary>
    public string Mark => $"{Keyprint.Generation}-{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(string.Join('\n', Boxes.Select(SaidOf).Prepend($"{Words.Title}\n{Words.Counts}")))).AsSpan(0, 6))}";

    public string Alt => Boxes.Count == 1
        ? T($"A box on a shelf, drawn from its recordings: {Boxes[0].Title}")
        : T($"{Plural.Opening(Boxes.Count, "box")} on a shelf, drawn from their recordings: {string.Join(", ", Boxes.Select(b => b.Title))}");

    private static string SaidOf(ShelfBox box) =>
        $"{box.Slug} {box.Latest.Row.Number} {box.Paint} {box.Audience} {box.Latest.Row.Keys} {box.Latest.Row.Recordings} {box.Title}";
}
