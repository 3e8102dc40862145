using System.Text.Json;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Core.Upkeep;

/// <summary>The blobs beside the backups: each once, whichever backups name it. Copies, not links: a disk that fails must not take both.</summary>
internal sealed class BlobPool(IBlobStore pool, IBlobStore shelf)
{
    public int NewBlobs { get; private set; }
    public long NewBytes { get; private set; }

    /// <summary>There, and as long as it has to be. Its hash was that when it was copied, and is looked at again when it is restored.</summary>
    public bool Has(string sha256, long bytes) => pool.Has(sha256) && new FileInfo(pool.LocalPath(sha256)!).Length == bytes;

    /// <summary>Copies what is not there yet. What can't be read, or is not what its name says, is left out.</summary>
    public async Task FillAsync(IReadOnlyDictionary<string, long> blobs, CancellationToken cancellationToken)
    {
        foreach (var (sha256, bytes) in blobs)
        {
            cancellationToken.ThrowIfCancellationRequested();
            if (!Has(sha256, bytes) && await CopyAsync(sha256, cancellationToken))
            {
                NewBlobs++;
                NewBytes += bytes;
            }
        }
    }

    /// <summary>Removes what neither the shelf nor any backup names, and what a kill left half copied.</summary>
    public async Task TidyAsync(BackupFolder folder, IReadOnlyDictionary<string, long> blobs, CancellationToken cancellationToken)
    {
        if (!Directory.Exists(folder.Paths.Blobs))
            return;
        pool.ClearUnfinished(DateTimeOffset.MaxValue);
        var named = new HashSet<string>(blobs.Keys, StringComparer.Ordinal);
        try
        {
            foreach (var backup in folder.All().Where(b => b.IsWhole))
                named.UnionWith((await folder.ReadAsync(backup.Name, cancellationToken)).Blobs.Keys);
        }
        catch (JsonException)
        {
            // A manifest that can't be read may name anything: nothing goes until that backup is old enough to go itself.
            return;
        }
        foreach (var old in pool.UntouchedSince(DateTimeOffset.MaxValue).Where(b => !named.Contains(b)).ToList())
            pool.Remove(old, DateTimeOffset.MaxValue);
    }

    private async Task<bool> CopyAsync(string sha256, CancellationToken cancellationToken)
    {
        try
        {
            await using var bytes = shelf.Open(sha256);
            return (await pool.PutAsync(bytes, cancellationToken)).Sha256 == sha256;
        }
        catch (Exception gone) when (gone is FileNotFoundException or DirectoryNotFoundException)
        {
            return false;
        }
    }
}
