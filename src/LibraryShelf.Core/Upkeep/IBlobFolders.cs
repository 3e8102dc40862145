using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Core.Upkeep;

/// <summary>Stores of blobs beside the shelf's own: the one among the backups, and the one of a shelf being restored.</summary>
public interface IBlobFolders
{
    /// <summary>The store under <see cref="DataPaths.Blobs"/> of that layout; made when something is put in.</summary>
    IBlobStore At(DataPaths paths);
}
