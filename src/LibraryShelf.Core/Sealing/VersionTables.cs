using System.IO.Compression;
using Microsoft.Extensions.Caching.Memory;

namespace LibraryShelf.Core.Sealing;

/// <summary>A table of versions as it goes out. <paramref name="Fingerprint"/> changes whenever the table does.</summary>
public sealed record VersionDocument(string Fingerprint, byte[] Plain, byte[] Gzip, byte[] Brotli);

/// <summary>Tables of versions as they go out, in memory within a bound: reading twenty recipes and compressing them takes a second.</summary>
public sealed class VersionTables : IDisposable
{
    /// <summary>Bytes kept, all forms together; 20,000 files in twenty versions have about five million.</summary>
    private const long MostBytes = 64L << 20;

    private readonly MemoryCache _cache = new(new MemoryCacheOptions { SizeLimit = MostBytes });

    internal VersionDocument? Find(string fingerprint) => _cache.Get<VersionDocument>(fingerprint);

    internal VersionDocument Keep(string fingerprint, byte[] plain)
    {
        var document = new VersionDocument(fingerprint, plain,
            Packed(plain, to => new GZipStream(to, CompressionLevel.Optimal)), Packed(plain, to => new BrotliStream(to, CompressionLevel.Fastest)));
        _cache.Set(fingerprint, document, new MemoryCacheEntryOptions { Size = plain.Length + document.Gzip.Length + document.Brotli.Length });
        return document;
    }

    public void Dispose() => _cache.Dispose();

    private static byte[] Packed(byte[] plain, Func<Stream, Stream> packer)
    {
        using var packed = new MemoryStream();
        using (var stream = packer(packed))
            stream.Write(plain);
        return packed.ToArray();
    }
}
