namespace LibraryShelf.Core.Downloads;

/// <summary>A key that signs download links. The newest unretired one signs; older ones only verify.</summary>
public sealed class LinkKey
{
    public int Id { get; set; }
    /// <summary>32 random bytes.</summary>
    public byte[] Secret { get; set; } = [];
    public DateTimeOffset CreatedAt { get; set; }
    public DateTimeOffset? RetiredAt { get; set; }
}
