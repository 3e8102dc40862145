using System.Security.Cryptography;

namespace LibraryShelf.Core.Downloads;

/// <summary>A key that signs download links. The newest unretired one signs; older ones only verify.</summary>
public sealed class LinkKey
{
    private const int SecretBytes = 32; // the output length of SHA-256: RFC 2104 §3

    public int Id { get; set; }
    /// <summary>32 random bytes. Never shown and never logged.</summary>
    public byte[] Secret { get; set; } = [];
    public DateTimeOffset CreatedAt { get; set; }
    public DateTimeOffset? RetiredAt { get; set; }

    internal static LinkKey Make(DateTimeOffset now) => new() { Secret = RandomNumberGenerator.GetBytes(SecretBytes), CreatedAt = now };
}
