using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Upkeep;

namespace LibraryShelf.Adapters.Storage;

/// <summary>Stores of blobs on this machine's disks.</summary>
public sealed class DiskBlobFolders(TimeProvider clock) : IBlobFolders
{
    public IBlobStore At(DataPaths paths) => new DiskBlobStore(paths, clock);
}
