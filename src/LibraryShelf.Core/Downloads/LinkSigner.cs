using System.Buffers.Text;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Signs download links with HMAC-SHA-256 (RFC 2104, FIPS 198-1). The signed text names its version first, and each field
/// carries its length in bytes, so that no two different links have the same text.
/// </summary>
internal static class LinkSigner
{
    private const string Version = "libraryshelf/link/1";

    /// <summary>The signature of <paramref name="link"/> (whose own <c>Mac</c> is not looked at), base64url.</summary>
    /// <param name="secret">The key of the link's key id.</param>
    /// <param name="link">The fields in the open.</param>
    /// <param name="personId">Who it is for; null for a visitor who is not signed in.</param>
    /// <param name="recipeSha256">Which archive it opens.</param>
    public static string Sign(ReadOnlySpan<byte> secret, DownloadLink link, long? personId, string recipeSha256) =>
        Base64Url.EncodeToString(Mac(secret, Encoding.UTF8.GetBytes(Text(link, personId, recipeSha256))));

    /// <summary>Whether the link's signature is the one these fields have. The time taken does not depend on where they differ.</summary>
    public static bool IsGenuine(ReadOnlySpan<byte> secret, DownloadLink link, long? personId, string recipeSha256) =>
        CryptographicOperations.FixedTimeEquals(
            Encoding.ASCII.GetBytes(link.Mac), Encoding.ASCII.GetBytes(Sign(secret, link, personId, recipeSha256)));

    internal static byte[] Mac(ReadOnlySpan<byte> secret, ReadOnlySpan<byte> text) => HMACSHA256.HashData(secret, text);

    internal static string Text(DownloadLink link, long? personId, string recipeSha256)
    {
        var text = new StringBuilder(Version).Append('\n');
        Field(personId?.ToString(CultureInfo.InvariantCulture) ?? "");
        Field(link.DownloadId);
        Field(recipeSha256);
        Field(link.FileName);
        Field(link.StartBy.ToString(CultureInfo.InvariantCulture));
        Field(link.FinishBy.ToString(CultureInfo.InvariantCulture));
        Field(link.KeyId.ToString(CultureInfo.InvariantCulture));
        return text.ToString();

        void Field(string value) =>
            text.Append(CultureInfo.InvariantCulture, $"{Encoding.UTF8.GetByteCount(value)}:").Append(value).Append('\n');
    }
}
