using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Core.Upkeep;

/// <summary>The blobs beside the backups: each once, whichever backups name it. Copies, not links: a disk that fails must not take both.</summary>
internal sealed class BlobPool(IBlobStore pool, IBlobStore shelf, BackupFar far)
{
    public int NewBlobs { get; private set; }
    public long NewBytes { get; private set; }

    /// <summary>Copies that had gone bad and were made anew.</summary>
    public int Mended { get; private set; }

    /// <summary>Copies that have gone bad, where the shelf has no whole one either.</summary>
    public HashSet<string> Rotted { get; } = new(StringComparer.Ordinal);

    /// <summary>There, as long as it has to be, and not known to be bad. Its hash was that when it was copied, and is looked at again now and then, and when it is restored.</summary>
    public bool Has(string sha256, long bytes) => !Rotted.Contains(sha256) && pool.Has(sha256) && new FileInfo(pool.LocalPath(sha256)!).Length == bytes;

    /// <summary>What <see cref="FillAsync"/> would copy, bytes.</summary>
    public long Missing(IReadOnlyDictionary<string, long> blobs) => blobs.Where(b => !Has(b.Key, b.Value)).Sum(b => b.Value);

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

    /// <summary>
    /// Reads some copies again, and those known to be bad: what is not what it was is copied anew from the shelf. Where that can't be, the bad copy stays: copies
    /// of the whole folder that are kept elsewhere would lose their good one with it.
    /// </summary>
    public async Task LookAgainAsync(BackupFolder folder, IReadOnlySet<int> parts, CancellationToken cancellationToken)
    {
        if (!Directory.Exists(folder.Paths.Blobs))
            return;
        var known = File.Exists(folder.Rotted) ? await File.ReadAllLinesAsync(folder.Rotted, cancellationToken) : [];
        var again = pool.UntouchedSince(DateTimeOffset.MaxValue).Where(b => parts.Contains(PoolPart.Of(b)) || known.Contains(b, StringComparer.Ordinal)).ToList();
        far.Expect(again.Sum(b => new FileInfo(pool.LocalPath(b)!).Length));
        foreach (var sha256 in again)
        {
            cancellationToken.ThrowIfCancellationRequested();
            if (await IsWholeAsync(pool, sha256, far.DoneAsync, cancellationToken))
                continue;
            if (!await IsWholeAsync(shelf, sha256, ToldStream.Nobody, cancellationToken))
            {
                Rotted.Add(sha256);
                continue;
            }
            pool.Remove(sha256, DateTimeOffset.MaxValue);
            far.Expect(new FileInfo(shelf.LocalPath(sha256)!).Length);
            // Killed here, the next run finds it missing and copies it.
            if (await CopyAsync(sha256, cancellationToken))
                Mended++;
        }
        var lines = Rotted.Order(StringComparer.Ordinal).ToList();
        if (lines.Count > 0 && !lines.SequenceEqual(known, StringComparer.Ordinal))
            await BackupFolder.WriteWholeAsync(folder.Rotted, async to => await to.WriteAsync(Encoding.UTF8.GetBytes(string.Concat(lines.Select(l => l + "\n"))), cancellationToken));
        else if (lines.Count == 0)
            File.Delete(folder.Rotted);
    }

    /// <summary>False, too, where the disk can't read it.</summary>
    private static async Task<bool> IsWholeAsync(IBlobStore store, string sha256, Func<long, CancellationToken, Task> told, CancellationToken cancellationToken)
    {
        try
        {
            await using var bytes = new ToldStream(store.Open(sha256), told);
            return Convert.ToHexStringLower(await SHA256.HashDataAsync(bytes, cancellationToken)) == sha256;
        }
        catch (Exception unread) when (unread is IOException or UnauthorizedAccessException)
        {
            return false;
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
            await using var bytes = new ToldStream(shelf.Open(sha256), far.DoneAsync);
            return (await pool.PutAsync(bytes, cancellationToken)).Sha256 == sha256;
        }
        catch (Exception gone) when (gone is FileNotFoundException or DirectoryNotFoundException)
        {
            return false;
        }
    }
}
