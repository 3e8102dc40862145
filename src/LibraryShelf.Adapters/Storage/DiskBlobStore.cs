using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Adapters.Storage;

/// <summary>
/// Blobs as read-only files at <c>blobs/ab/cd/abcd…</c>. A file gets that name only by a rename within the volume, after
/// its bytes were flushed: a kill leaves either no blob or a whole one. A file's date is when it was last stored or given again.
/// </summary>
public sealed class DiskBlobStore(DataPaths paths, TimeProvider? clock = null) : IBlobStore
{
    private const int BufferBytes = 128 * 1024;
    private const string Unfinished = "tmp";

    /// <summary>Held while a blob is moved in or removed. One program owns a data directory, so a lock in memory is enough.</summary>
    private readonly Lock moving = new();
    private readonly TimeProvider clock = clock ?? TimeProvider.System;

    public async Task<StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(content);
        var folder = Directory.CreateDirectory(Path.Combine(paths.Blobs, Unfinished)).FullName;
        var temporary = Path.Combine(folder, Guid.NewGuid().ToString("N"));
        try
        {
            var bytes = await WriteAsync(content, temporary, cancellationToken);
            MoveIn(temporary, bytes);
            return bytes;
        }
        finally
        {
            File.Delete(temporary);
        }
    }

    public Task AdoptAsync(string filePath, StoredBytes bytes, CancellationToken cancellationToken)
    {
        using (var file = new FileStream(filePath, FileMode.Open, FileAccess.ReadWrite, FileShare.Read, bufferSize: 0))
        {
            if (file.Length != bytes.Size)
                throw new IOException(T($"A finished upload has {file.Length} bytes, but {bytes.Size} were hashed."));
            file.Flush(flushToDisk: true);
        }
        MoveIn(filePath, bytes);
        return Task.CompletedTask;
    }

    public Stream Open(string sha256) =>
        new FileStream(FileOf(sha256), FileMode.Open, FileAccess.Read, FileShare.Read | FileShare.Delete, BufferBytes, useAsync: true);

    public bool Has(string sha256) => File.Exists(FileOf(sha256));

    public string? LocalPath(string sha256) => FileOf(sha256);

    public IEnumerable<string> UntouchedSince(DateTimeOffset before) =>
        new DirectoryInfo(paths.Blobs).EnumerateDirectories("??")
            .SelectMany(folder => folder.EnumerateFiles("*", SearchOption.AllDirectories))
            .Where(file => ContentHash.IsValid(file.Name) && file.LastWriteTimeUtc < before.UtcDateTime)
            .Select(file => file.Name);

    public bool Remove(string sha256, DateTimeOffset before)
    {
        lock (moving)
        {
            var file = new FileInfo(FileOf(sha256));
            if (!file.Exists)
                return true;
            if (file.LastWriteTimeUtc >= before.UtcDateTime)
                return false;
            file.IsReadOnly = false;
            file.Delete();
            return true;
        }
    }

    public void ClearUnfinished(DateTimeOffset before)
    {
        var folder = new DirectoryInfo(Path.Combine(paths.Blobs, Unfinished));
        if (!folder.Exists)
            return;
        foreach (var file in folder.EnumerateFiles().Where(f => f.LastWriteTimeUtc < before.UtcDateTime))
            file.Delete();
    }

    private static async Task<StoredBytes> WriteAsync(Stream content, string temporary, CancellationToken cancellationToken)
    {
        await using var file = new FileStream(temporary, FileMode.CreateNew, FileAccess.Write, FileShare.None, bufferSize: 0, useAsync: true);
        using var hash = new RunningHash();
        var buffer = new byte[BufferBytes];
        int read;
        while ((read = await content.ReadAsync(buffer, cancellationToken)) > 0)
        {
            await file.WriteAsync(buffer.AsMemory(0, read), cancellationToken);
            hash.Append(buffer.AsSpan(0, read));
        }
        file.Flush(flushToDisk: true);
        return hash.Current();
    }

    private void MoveIn(string filePath, StoredBytes bytes)
    {
        lock (moving)
        {
            var target = new FileInfo(FileOf(bytes.Sha256));
            // A shorter file of that name can only be the remains of a power cut: whole bytes replace it.
            if (target.Exists && target.Length == bytes.Size)
            {
                target.LastWriteTimeUtc = clock.GetUtcNow().UtcDateTime;
                File.Delete(filePath);
                return;
            }
            Directory.CreateDirectory(target.DirectoryName!);
            if (target.Exists)
                target.IsReadOnly = false;
            // Read-only only once it is there: killed in between, the upload can still be opened and moved anew.
            File.SetLastWriteTimeUtc(filePath, clock.GetUtcNow().UtcDateTime);
            File.Move(filePath, target.FullName, overwrite: true);
            File.SetAttributes(target.FullName, FileAttributes.ReadOnly);
        }
    }

    /// <summary>The one place where a hash becomes a path: anything but 64 lower-case hex digits is refused.</summary>
    private string FileOf(string sha256) =>
        ContentHash.IsValid(sha256)
            ? Path.Combine(paths.Blobs, sha256[..2], sha256[2..4], sha256)
            : throw new ArgumentException("Not a SHA-256 in lower-case hex.", nameof(sha256));
}
