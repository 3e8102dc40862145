namespace LibraryShelf.Core.Storage;

/// <summary>What a store says of bytes it has taken in: their SHA-256 (lower-case hex), CRC-32 and size.</summary>
public readonly record struct StoredBytes(string Sha256, uint Crc32, long Size);

/// <summary>Where bytes live, addressed by their SHA-256. Writing the same bytes twice is harmless.</summary>
public interface IBlobStore
{
    /// <summary>Reads <paramref name="content"/> to its end, hashing while writing, and keeps it durably. Throws IOException when the disk refuses; nothing is then kept.</summary>
    Task<StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken);

    /// <summary>Moves a finished file, whose hash the caller has computed, into the store; the file is gone afterwards. Same volume only.</summary>
    Task AdoptAsync(string filePath, StoredBytes bytes, CancellationToken cancellationToken);

    /// <summary>Opens a blob for reading from the start. FileNotFoundException when it is not there.</summary>
    Stream Open(string sha256);

    bool Has(string sha256);

    /// <summary>The blob's file on this machine, for the platform's own file sending; null when the store is elsewhere.</summary>
    string? LocalPath(string sha256);

    /// <summary>Blobs that were neither stored nor given again since <paramref name="before"/>.</summary>
    IEnumerable<string> UntouchedSince(DateTimeOffset before);

    /// <summary>
    /// Removes a blob unless it was stored or given again since <paramref name="before"/>; true when it is gone. Looking and removing
    /// are one step to everybody who stores.
    /// </summary>
    bool Remove(string sha256, DateTimeOffset before);

    /// <summary>Removes what a kill left half stored before that instant.</summary>
    void ClearUnfinished(DateTimeOffset before);
}
