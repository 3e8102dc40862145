namespace LibraryShelf.Packaging.Archives;

/// <summary>A run of an archive's bytes: either <see cref="Bytes"/> in memory, or a part of the blob that <see cref="Entry"/> names.</summary>
public readonly record struct ArchiveSlice
{
    internal ArchiveSlice(ReadOnlyMemory<byte> bytes) => (Bytes, Count) = (bytes, bytes.Length);

    internal ArchiveSlice(RecipeEntry entry, long offset, long count) => (Entry, Offset, Count) = (entry, offset, count);

    /// <summary>The bytes themselves; empty for a part of a blob.</summary>
    public ReadOnlyMemory<byte> Bytes { get; }
    /// <summary>The file that this is a part of; null when the bytes are in memory.</summary>
    public RecipeEntry? Entry { get; }
    /// <summary>The blob to read from, 64 lower-case hex digits; null when the bytes are in memory.</summary>
    public string? BlobSha256 => Entry?.Sha256;
    /// <summary>Where in the blob the part starts, in bytes.</summary>
    public long Offset { get; }
    /// <summary>How many bytes, 1 or more.</summary>
    public long Count { get; }
}
