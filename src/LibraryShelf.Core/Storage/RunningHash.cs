using System.IO.Hashing;
using System.Security.Cryptography;

namespace LibraryShelf.Core.Storage;

/// <summary>SHA-256 and CRC-32 of bytes as they pass by, so that nothing is read twice.</summary>
public sealed class RunningHash : IDisposable
{
    private readonly IncrementalHash sha = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
    private readonly Crc32 crc = new();

    /// <summary>Bytes seen so far.</summary>
    public long Position { get; private set; }

    public void Append(ReadOnlySpan<byte> bytes)
    {
        sha.AppendData(bytes);
        crc.Append(bytes);
        Position += bytes.Length;
    }

    /// <summary>What the bytes so far hash to; more may follow.</summary>
    public StoredBytes Current() =>
        new(Convert.ToHexStringLower(sha.GetCurrentHash()), crc.GetCurrentHashAsUInt32(), Position);

    /// <summary>Reads <paramref name="content"/> to its end.</summary>
    public static async Task<RunningHash> OfAsync(Stream content, CancellationToken cancellationToken)
    {
        var hash = new RunningHash();
        var buffer = new byte[128 * 1024];
        int read;
        while ((read = await content.ReadAsync(buffer, cancellationToken)) > 0)
            hash.Append(buffer.AsSpan(0, read));
        return hash;
    }

    public void Dispose() => sha.Dispose();
}
