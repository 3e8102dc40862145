using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Signs download links with HMAC-SHA-256 (RFC 2104, FIPS 198-1). The signed text names its version first, and each field
/// carries its length in bytes, so that no two different links have the same text.
/// </summary>
/// <remarks>Every request of every download comes through here, so it works on bytes, with a few microseconds in mind.</remarks>
internal static class LinkSigner
{
    private const int MostDigits = 20; // of a 64-bit number with its sign

    private static ReadOnlySpan<byte> Version => "libraryshelf/link/1\n"u8;

    /// <summary>The signature of <paramref name="link"/> (whose own <c>Mac</c> is not looked at), base64url.</summary>
    /// <param name="secret">The key of the link's key id.</param>
    /// <param name="link">The fields in the open.</param>
    /// <param name="personId">Who it is for; null for a visitor who is not signed in.</param>
    /// <param name="recipeSha256">Which archive it opens.</param>
    public static string Sign(ReadOnlySpan<byte> secret, DownloadLink link, long? personId, string recipeSha256) =>
        Base64Url.EncodeToString(Mac(secret, Text(link, personId, recipeSha256)));

    /// <summary>Whether the link's signature is the one these fields have. The time taken does not depend on where they differ.</summary>
    public static bool IsGenuine(ReadOnlySpan<byte> secret, DownloadLink link, long? personId, string recipeSha256) =>
        CryptographicOperations.FixedTimeEquals(
            Encoding.UTF8.GetBytes(link.Mac), Base64Url.EncodeToUtf8(Mac(secret, Text(link, personId, recipeSha256))));

    internal static byte[] Mac(ReadOnlySpan<byte> secret, ReadOnlySpan<byte> text) => HMACSHA256.HashData(secret, text);

    internal static ReadOnlySpan<byte> Text(DownloadLink link, long? personId, string recipeSha256)
    {
        // Seven fields, each with its length in at most ten digits, a colon and a line end.
        var text = new byte[Version.Length + (7 * 12) + (4 * MostDigits)
            + Encoding.UTF8.GetMaxByteCount(link.DownloadId.Length + recipeSha256.Length + link.FileName.Length)];
        Version.CopyTo(text);
        var rest = text.AsSpan(Version.Length);
        if (personId is { } id) Field(ref rest, id); else Field(ref rest, "");
        Field(ref rest, link.DownloadId);
        Field(ref rest, recipeSha256);
        Field(ref rest, link.FileName);
        Field(ref rest, link.StartBy);
        Field(ref rest, link.FinishBy);
        Field(ref rest, link.KeyId);
        return text.AsSpan(0, text.Length - rest.Length);
    }

    private static void Field(ref Span<byte> rest, long value)
    {
        Span<byte> digits = stackalloc byte[MostDigits];
        Utf8Formatter.TryFormat(value, digits, out var count);
        Begin(ref rest, count);
        digits[..count].CopyTo(rest);
        End(ref rest, count);
    }

    private static void Field(ref Span<byte> rest, string value)
    {
        var count = Encoding.UTF8.GetByteCount(value);
        Begin(ref rest, count);
        Encoding.UTF8.GetBytes(value, rest);
        End(ref rest, count);
    }

    private static void Begin(ref Span<byte> rest, int count)
    {
        Utf8Formatter.TryFormat(count, rest, out var written);
        rest[written] = (byte)':';
        rest = rest[(written + 1)..];
    }

    private static void End(ref Span<byte> rest, int count)
    {
        rest[count] = (byte)'\n';
        rest = rest[(count + 1)..];
    }
}
