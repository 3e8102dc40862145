using System.Buffers;
using System.Security.Cryptography;

namespace LibraryShelf.Cli.Check;

/// <summary>A file read once for two: whoever reads it forwards gets its bytes, and at the end there is the SHA-256 of the whole file.</summary>
internal sealed class HashedReading : Stream
{
    private const int BufferBytes = 128 * 1024;

    private readonly Stream file;
    private readonly Action<long> read;
    private readonly IncrementalHash sha256 = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
    private readonly byte[] buffer = ArrayPool<byte>.Shared.Rent(BufferBytes);
    private int at, filled;

    /// <param name="fullPath">IOException or UnauthorizedAccessException when it can't be read.</param>
    /// <param name="read">Gets the number of bytes each time some were read.</param>
    public HashedReading(string fullPath, Action<long> read)
        : this(new FileStream(fullPath, new FileStreamOptions { BufferSize = 0, Options = FileOptions.SequentialScan }), read)
    {
    }

    /// <param name="file">From where it stands; disposed here.</param>
    /// <param name="read">As above.</param>
    public HashedReading(Stream file, Action<long> read)
    {
        this.file = file;
        this.read = read;
    }

    public override int Read(Span<byte> target)
    {
        if (at == filled && !Fill())
            return 0;
        var count = Math.Min(target.Length, filled - at);
        buffer.AsSpan(at, count).CopyTo(target);
        at += count;
        return count;
    }

    public override int Read(byte[] buffer, int offset, int count) => Read(buffer.AsSpan(offset, count));

    /// <summary>Reads what is left; 64 lower-case hex digits.</summary>
    public string Finish(CancellationToken cancellationToken)
    {
        while (Fill())
            cancellationToken.ThrowIfCancellationRequested();
        return Convert.ToHexStringLower(sha256.GetHashAndReset());
    }

    private bool Fill()
    {
        at = 0;
        filled = file.Read(buffer);
        sha256.AppendData(buffer, 0, filled);
        read(filled);
        return filled > 0;
    }

    protected override void Dispose(bool disposing)
    {
        if (disposing && file.CanRead)
        {
            file.Dispose();
            sha256.Dispose();
            ArrayPool<byte>.Shared.Return(buffer);
        }
        base.Dispose(disposing);
    }

    public override bool CanRead => true;
    public override bool CanSeek => false;
    public override bool CanWrite => false;
    public override long Length => throw new NotSupportedException();
    public override long Position { get => throw new NotSupportedException(); set => throw new NotSupportedException(); }
    public override void Flush() { }
    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();
    public override void SetLength(long value) => throw new NotSupportedException();
    public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
}
