namespace LibraryShelf.Core.Intake;

/// <summary>
/// Stops reading once more than <paramref name="room"/> bytes came out: what a zip declares is never believed, so one that
/// unfolds without end is stopped at the limit.
/// </summary>
/// <param name="inner">What is read; disposed of with this.</param>
/// <param name="room">Bytes.</param>
/// <param name="path">Whose bytes they are, for words.</param>
/// <param name="told">Told of each stretch as it is read; what it throws ends the reading.</param>
internal sealed class CountedStream(Stream inner, long room, string path, Func<int, CancellationToken, Task> told) : Stream
{
    private long left = room;

    public override bool CanRead => true;
    public override bool CanSeek => false;
    public override bool CanWrite => false;
    public override long Length => throw new NotSupportedException();
    public override long Position { get => throw new NotSupportedException(); set => throw new NotSupportedException(); }

    public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
    {
        var read = Counted(await inner.ReadAsync(buffer, cancellationToken));
        await told(read, cancellationToken);
        return read;
    }

    public override Task<int> ReadAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
        ReadAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

    public override int Read(byte[] buffer, int offset, int count) => Counted(inner.Read(buffer, offset, count));

    public override void Flush() { }
    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();
    public override void SetLength(long value) => throw new NotSupportedException();
    public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();

    protected override void Dispose(bool disposing)
    {
        if (disposing)
            inner.Dispose();
        base.Dispose(disposing);
    }

    private int Counted(int read)
    {
        left -= read;
        return left >= 0
            ? read
            : throw new ZipRefusedException(T($"{FolderRules.Shown(path)} unfolds to more than this shelf takes in one version."));
    }
}
