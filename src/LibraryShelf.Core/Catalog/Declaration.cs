using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>
/// What the maker says once of each library, before anything of it goes out: that its recordings are hers to give. The words stand here
/// and nowhere else.
/// </summary>
public static class Declaration
{
    public static string Words =>
        T("The recordings of this library are mine to give: I made them myself, or whoever made them has allowed me to give them under this licence.");

    public static string Hint =>
        T("You say so once for each library. What is yours to give is for the law where you live to say, and this is no legal advice.");

    public static string Missing =>
        T("Nothing of this library has been on the shelf yet, and you have not said that its recordings are yours to give. Tick that sentence on this page, then press again.");

    /// <summary>A library that was on the shelf before makers were asked needs none.</summary>
    internal static async Task<bool> IsMissingAsync(ShelfDb db, Library library, CancellationToken cancellationToken) =>
        library.DeclaredAt is null
        && !await db.Releases.AnyAsync(r => r.LibraryId == library.Id && r.PublishedAt != null, cancellationToken);
}
