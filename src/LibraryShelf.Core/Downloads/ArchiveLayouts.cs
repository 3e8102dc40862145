using System.Security.Cryptography;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.Extensions.Caching.Memory;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Layouts of archives by recipe hash, kept in memory within a bound: resumed and split downloads come back every few
/// seconds, and a recipe never changes.
/// </summary>
public sealed class ArchiveLayouts(IBlobStore blobs) : IDisposable
{
    /// <summary>Bytes of recipes kept; a recipe of 20,000 files has about three million.</summary>
    private const long MaxRecipeBytes = 64L << 20;

    private readonly MemoryCache _cache = new(new MemoryCacheOptions { SizeLimit = MaxRecipeBytes });

    /// <summary>The layout of a stored recipe; null when the store has no such blob. Two who ask at once may both read it.</summary>
    /// <exception cref="InvalidDataException">The stored bytes are not those of the hash.</exception>
    /// <exception cref="FormatException">The blob is no recipe.</exception>
    public async Task<ArchiveLayout?> FindAsync(string recipeSha256, CancellationToken cancellationToken)
    {
        if (_cache.TryGetValue(recipeSha256, out ArchiveLayout? known)) return known;
        if (!blobs.Has(recipeSha256)) return null;
        var recipe = await ReadAsync(recipeSha256, cancellationToken);
        var layout = new ArchiveLayout(Recipe.Parse(recipe));
        _cache.Set(recipeSha256, layout, new MemoryCacheEntryOptions { Size = recipe.Length });
        return layout;
    }

    public void Dispose() => _cache.Dispose();

    private async Task<byte[]> ReadAsync(string recipeSha256, CancellationToken cancellationToken)
    {
        await using var stream = blobs.Open(recipeSha256);
        using var memory = new MemoryStream();
        await stream.CopyToAsync(memory, cancellationToken);
        var bytes = memory.ToArray();
        return Convert.ToHexStringLower(SHA256.HashData(bytes)) == recipeSha256
            ? bytes
            : throw new InvalidDataException(T($"The stored recipe {recipeSha256} is damaged: its bytes hash to something else."));
    }
}
