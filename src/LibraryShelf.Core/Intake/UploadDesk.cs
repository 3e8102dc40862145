using System.Buffers.Text;
using System.Collections.Concurrent;
using System.Security.Cryptography;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Core.Intake;

/// <summary>What became of a whole upload: its length in bytes, and why the disk refused it, when it did.</summary>
internal readonly record struct WholeUpload(long Length, string? Refused);

/// <summary>
/// The one place that knows where an upload's bytes lie and who is writing them. One for the whole process: it hands out one
/// lease per upload at a time, and keeps the running hashes between requests. Losing them (a restart) costs a re-read.
/// </summary>
public sealed class UploadDesk(DataPaths paths)
{
    private const int IdBytes = 16;
    /// <summary>Idle hashes kept in memory at most; beyond it the longest idle are forgotten.</summary>
    private const int MaxIdle = 256;

    private readonly ConcurrentDictionary<string, byte> taken = new(StringComparer.Ordinal);
    private readonly LinkedList<(string Id, RunningHash Hash)> idle = [];

    public static string NewId() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(IdBytes));

    /// <summary>Takes the upload for writing; null while somebody else has it. Dispose gives it back.</summary>
    public UploadLease? TryTake(string uploadId)
    {
        var file = FileOf(uploadId);
        return taken.TryAdd(uploadId, 0) ? new UploadLease(this, uploadId, file, TakeIdle(uploadId)) : null;
    }

    /// <summary>Bytes received so far: the file's length, 0 while there is none.</summary>
    public long OffsetOf(string uploadId) => new FileInfo(FileOf(uploadId)) is { Exists: true } file ? file.Length : 0;

    /// <summary>When the last byte came; null while there is none.</summary>
    public DateTimeOffset? WrittenAt(string uploadId) =>
        new FileInfo(FileOf(uploadId)) is { Exists: true } file ? new DateTimeOffset(file.LastWriteTimeUtc) : null;

    public bool HasBytes(string uploadId) => File.Exists(FileOf(uploadId));

    public Stream Open(string uploadId) =>
        new FileStream(FileOf(uploadId), FileMode.Open, FileAccess.Read, FileShare.Read | FileShare.Delete, 128 * 1024, useAsync: true);

    /// <summary>
    /// Removes the bytes of an upload whose row is gone, unless somebody is writing or finishing it at this moment: they find the row
    /// gone and remove them, and must not lose them under their hands.
    /// </summary>
    public void ClearUnlessTaken(string uploadId)
    {
        using var lease = TryTake(uploadId);
        lease?.Forget();
        if (lease is not null)
            DeleteBytes(uploadId);
    }

    public void DeleteBytes(string uploadId) => File.Delete(FileOf(uploadId));

    /// <summary>
    /// Writes a whole upload durably, at most <paramref name="most"/> bytes of it. What the disk refuses is an answer; a fault of
    /// <paramref name="content"/> is thrown, for its sender is gone. <paramref name="whyFull"/> is asked before each <see cref="DiskReserve.Stretch"/>, and what it
    /// says against it is taken as the disk's. The caller deletes what it does not keep.
    /// </summary>
    internal async Task<WholeUpload> WriteAsync(string uploadId, Stream content, long most, Func<string?> whyFull, CancellationToken cancellationToken)
    {
        FileStream? file = null;
        if (await DiskTrouble.TryAsync(() => Task.FromResult(file = CreateFile(uploadId))) is { } words)
            return new WholeUpload(0, words);
        await using (file)
        {
            var buffer = new byte[128 * 1024];
            long length = 0;
            int read;
            while ((read = await content.ReadAsync(buffer, cancellationToken)) > 0)
            {
                if (length / DiskReserve.Stretch != (length + read) / DiskReserve.Stretch || length == 0)
                {
                    if (whyFull() is { } full)
                        return new WholeUpload(0, full);
                }
                length += read;
                if (length > most)
                    return new WholeUpload(length, null);
                if (await DiskTrouble.TryAsync(() => file!.WriteAsync(buffer, 0, read, cancellationToken)) is { } refused)
                    return new WholeUpload(0, refused);
            }
            return new WholeUpload(length, await DiskTrouble.TryAsync(() => Task.Run(() => file!.Flush(flushToDisk: true), cancellationToken)));
        }
    }

    private FileStream CreateFile(string uploadId) =>
        new(FileOf(uploadId), FileMode.CreateNew, FileAccess.Write, FileShare.None, bufferSize: 0, useAsync: true);

    public IEnumerable<(string Id, DateTimeOffset WrittenAt)> AllBytes() =>
        Directory.Exists(paths.Uploads)
            ? new DirectoryInfo(paths.Uploads).EnumerateFiles().Where(f => IsId(f.Name)).Select(f => (f.Name, new DateTimeOffset(f.LastWriteTimeUtc)))
            : [];

    /// <summary>The one place where an upload's id becomes a path: 22 base64url characters or nothing.</summary>
    public static bool IsId(string? text) =>
        text is { Length: 22 } && text.All(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '_');

    internal void GiveBack(string uploadId, RunningHash? hash)
    {
        if (hash is not null)
            KeepIdle(uploadId, hash);
        taken.TryRemove(uploadId, out _);
    }

    private string FileOf(string uploadId) =>
        IsId(uploadId) ? Path.Combine(paths.Uploads, uploadId) : throw new ArgumentException("Not an upload's id.", nameof(uploadId));

    private RunningHash? TakeIdle(string uploadId)
    {
        lock (idle)
        {
            for (var node = idle.First; node is not null; node = node.Next)
            {
                if (node.Value.Id != uploadId)
                    continue;
                idle.Remove(node);
                return node.Value.Hash;
            }
            return null;
        }
    }

    private void KeepIdle(string uploadId, RunningHash hash)
    {
        lock (idle)
        {
            idle.AddLast((uploadId, hash));
            if (idle.Count <= MaxIdle)
                return;
            idle.First!.Value.Hash.Dispose();
            idle.RemoveFirst();
        }
    }
}
