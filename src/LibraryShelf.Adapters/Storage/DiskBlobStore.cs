using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Adapters.Storage;

/// <summary>
/// Blobs as read-only files at <c>blobs/ab/cd/abcd…</c>. A file gets that name only by a rename within the volume, after
/// its bytes were flushed: a kill leaves either no blob or a whole one.
/// </summary>
public sealed class DiskBlobStore(DataPaths paths) : IBlobStore
{
    private const int BufferBytes = 128 * 1024;

    public async Task<StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(content);
        var folder = Directory.CreateDirectory(Path.Combine(paths.Blobs, "tmp")).FullName;
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
                throw new IOException($"A finished upload has {file.Length} bytes, but {bytes.Size} were hashed.");
            file.Flush(flushToDisk: true);
        }
        MoveIn(filePath, bytes);
        return Task.CompletedTask;
    }

    public Stream Open(string sha256) =>
        new FileStream(FileOf(sha256), FileMode.Open, FileAccess.Read, FileShare.Read | FileShare.Delete, BufferBytes, useAsync: true);

    public bool Has(string sha256) => File.Exists(FileOf(sha256));

    public string? LocalPath(string sha256) => FileOf(sha256);

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
        var target = new FileInfo(FileOf(bytes.Sha256));
        // A shorter file of that name can only be the remains of a power cut: whole bytes replace it.
        if (target.Exists && target.Length == bytes.Size)
        {
            File.Delete(filePath);
            return;
        }
        Directory.CreateDirectory(target.DirectoryName!);
        if (target.Exists)
            target.IsReadOnly = false;
        // Read-only only once it is there: killed in between, the upload can still be opened and moved anew.
        File.Move(filePath, target.FullName, overwrite: true);
        File.SetAttributes(target.FullName, FileAttributes.ReadOnly);
    }

    /// <summary>The one place where a hash becomes a path: anything but 64 lower-case hex digits is refused.</summary>
    private string FileOf(string sha256) =>
        ContentHash.IsValid(sha256)
            ? Path.Combine(paths.Blobs, sha256[..2], sha256[2..4], sha256)
            : throw new ArgumentException("Not a SHA-256 in lower-case hex.", nameof(sha256));
}
