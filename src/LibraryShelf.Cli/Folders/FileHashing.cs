using System.Buffers;
using System.IO.Hashing;
using System.Security.Cryptography;

namespace LibraryShelf.Cli.Folders;

/// <summary>What a file's bytes come to: their count, CRC-32 as in zip, and SHA-256 (64 lower-case hex digits).</summary>
internal sealed record FileSums(LocalFile File, long Size, uint Crc32, string Sha256);

/// <summary>Reads files once, on every core, for their size, CRC-32 and SHA-256.</summary>
internal static class FileHashing
{
    private const int BufferBytes = 256 * 1024;

    /// <summary>The files with their sums, in the given order. IOException or UnauthorizedAccessException when one can't be read.</summary>
    public static async Task<IReadOnlyList<FileSums>> HashAsync(
        IReadOnlyList<LocalFile> files, Action<long> read, CancellationToken cancellationToken)
    {
        var sums = new FileSums[files.Count];
        // The longest first, so that no core is left with a long file at the end.
        var order = Enumerable.Range(0, files.Count).OrderByDescending(i => files[i].Size).ToList();
        var cores = new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount, CancellationToken = cancellationToken };
        try
        {
            await Parallel.ForEachAsync(order, cores, async (i, token) => sums[i] = await HashAsync(files[i], read, token));
        }
        catch (AggregateException e)
        {
            throw e.InnerExceptions[0];
        }
        return sums;
    }

    public static async Task<FileSums> HashAsync(LocalFile file, Action<long> read, CancellationToken cancellationToken)
    {
        using var sha256 = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var crc32 = new Crc32();
        long size = 0;
        var buffer = ArrayPool<byte>.Shared.Rent(BufferBytes);
        try
        {
            await using var stream = new FileStream(file.FullPath, new FileStreamOptions { BufferSize = 0, Options = FileOptions.SequentialScan });
            for (int count; (count = await stream.ReadAsync(buffer, cancellationToken)) > 0; size += count)
            {
                sha256.AppendData(buffer, 0, count);
                crc32.Append(buffer.AsSpan(0, count));
                read(count);
            }
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
        return new FileSums(file, size, crc32.GetCurrentHashAsUInt32(), Convert.ToHexStringLower(sha256.GetHashAndReset()));
    }
}
