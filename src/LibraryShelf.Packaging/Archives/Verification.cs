namespace LibraryShelf.Packaging.Archives;

/// <summary>What verifying an archive or a folder came to: how much was read, and everything that is not as it was packed.</summary>
public sealed record Verification(int Files, long Bytes, IReadOnlyList<Discrepancy> Discrepancies)
{
    /// <summary>The two versions, when it is an update archive: what it leaves out is no discrepancy then. Null for anything else.</summary>
    public UpdateBetween? Update { get; init; }

    /// <summary>SHA-256 by path, of an archive's files that could be read whole; empty for a folder.</summary>
    public IReadOnlyDictionary<string, string> Hashes { get; init; } = new Dictionary<string, string>();
}

/// <summary>One thing that is not as it was packed; the path is null when it is about the whole.</summary>
public sealed record Discrepancy(DiscrepancyKind Kind, string? Path, string Message);

/// <summary>The kinds of discrepancy; scripts read their names.</summary>
public enum DiscrepancyKind
{
    /// <summary>The file's bytes are not those that were packed.</summary>
    Altered,
    /// <summary>The file is listed and not there.</summary>
    Missing,
    /// <summary>The file is there and not listed.</summary>
    Extra,
    /// <summary>The file is there under another name than it was packed with.</summary>
    Renamed,
    /// <summary>The name could write outside the folder it is unzipped in.</summary>
    UnsafeName,
    /// <summary>There is no checksum list, or it can't be read.</summary>
    Checksums,
    /// <summary>The zip's own records are damaged, or not those that the shelf writes.</summary>
    Structure,
}
