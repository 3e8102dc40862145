using LibraryShelf.Core.Storage;

namespace LibraryShelf.Core.Intake;

/// <summary>The right to write one upload's bytes, held by one request at a time.</summary>
public sealed class UploadLease : IDisposable
{
    private readonly UploadDesk desk;
    private RunningHash? hash;

    internal UploadLease(UploadDesk desk, string uploadId, string file, RunningHash? hash) =>
        (this.desk, UploadId, FilePath, this.hash) = (desk, uploadId, file, hash);

    public string UploadId { get; }
    internal string FilePath { get; }

    /// <summary>Hashes of all bytes on disk; re-read from the file when memory of them was lost or disagrees with its length.</summary>
    internal async Task<RunningHash> HashAsync(CancellationToken cancellationToken)
    {
        var length = desk.OffsetOf(UploadId);
        if (hash is not null && hash.Position == length)
            return hash;
        Forget();
        if (length == 0)
            return hash = new RunningHash();
        await using var bytes = desk.Open(UploadId);
        return hash = await RunningHash.OfAsync(bytes, cancellationToken);
    }

    internal FileStream OpenForAppend() =>
        new(FilePath, FileMode.Append, FileAccess.Write, FileShare.Read, bufferSize: 0, useAsync: true);

    /// <summary>Drops everything after the first <paramref name="length"/> bytes.</summary>
    internal void CutBackTo(long length)
    {
        Forget();
        if (!File.Exists(FilePath))
            return;
        using var file = new FileStream(FilePath, FileMode.Open, FileAccess.Write);
        file.SetLength(length);
    }

    internal void Forget()
    {
        hash?.Dispose();
        hash = null;
    }

    public void Dispose() => desk.GiveBack(UploadId, hash);
}
