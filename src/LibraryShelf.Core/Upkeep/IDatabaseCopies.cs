using LibraryShelf.Core.Data;

namespace LibraryShelf.Core.Upkeep;

/// <summary>Copies of the shelf's database, taken while it is in use.</summary>
public interface IDatabaseCopies
{
    /// <summary>What the copy is called in a backup: "shelf.db", "shelf.dump".</summary>
    string FileName { get; }

    /// <summary>Whether the copy is a database by itself; else it is first put into an empty one by the server's own tools.</summary>
    bool IsDatabase { get; }

    /// <summary>Writes one state of the whole database to a new file, durably, while others read and write.</summary>
    /// <returns>Why it could not, in words for the maker; null: it is done.</returns>
    /// <exception cref="IOException">The disk refused.</exception>
    Task<string?> CopyAsync(string file, CancellationToken cancellationToken);

    /// <summary>The restored database, brought to this program's version: the one in <paramref name="file"/>, or the server's. Once disposed, the file holds all of it.</summary>
    /// <returns>Null: the server's database has none of the shelf's tables.</returns>
    Task<ShelfDb?> OpenAsync(string file, CancellationToken cancellationToken);

    /// <summary>From now on rows of this table get numbers beyond those given so far, by a million; a number left out means nothing.</summary>
    /// <param name="restored">As <see cref="OpenAsync"/> opened it.</param>
    /// <param name="table">Its rows are numbered by the database.</param>
    /// <param name="cancellationToken">Stops it.</param>
    Task SkipNumbersAsync(ShelfDb restored, string table, CancellationToken cancellationToken);
}
