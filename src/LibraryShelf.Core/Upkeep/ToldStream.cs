namespace LibraryShelf.Core.Upkeep;

/// <summary>Reads a file from its beginning to its end, and tells of each stretch.</summary>
/// <param name="inner">What is read; disposed of with this.</param>
/// <param name="told">How many bytes came; what it throws ends the reading.</param>
internal sealed class ToldStream(Stream inner, Func<long, CancellationToken, Task> told) : Stream
{
    public static Task Nobody(long bytes, CancellationToken cancellationToken) => Task.CompletedTask;

    public override bool CanRead => true;
    public override bool CanSeek => false;
    public override bool CanWrite => false;
    public override long Length => throw new NotSupportedException();
    public override long Position { get => throw new NotSupportedException(); set => throw new NotSupportedException(); }

    public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
    {
        var read = await inner.ReadAsync(buffer, cancellationToken);
        await told(read, cancellationToken);
        return read;
    }

    public override Task<int> ReadAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
        ReadAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

    /// <summary>Nobody is told here: whoever reads at once can't wait for a database.</summary>
    public override int Read(byte[] buffer, int offset, int count) => throw new NotSupportedException();

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
}
