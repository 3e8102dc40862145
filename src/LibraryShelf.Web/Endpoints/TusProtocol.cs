using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Intake;

namespace LibraryShelf.Web.Endpoints;

/// <summary>Headers of the tus resumable upload protocol 1.0.0 (https://tus.io/protocols/resumable-upload), read and written.</summary>
internal static class TusProtocol
{
    public const string Resumable = "Tus-Resumable";
    public const string Offset = "Upload-Offset";
    public const string Length = "Upload-Length";
    public const string DeferLength = "Upload-Defer-Length";
    public const string Metadata = "Upload-Metadata";
    public const string Expires = "Upload-Expires";
    public const string Checksum = "Upload-Checksum";
    public const string MaxSize = "Tus-Max-Size";
    public const string Extensions = "creation,creation-with-upload,checksum,expiration,termination";
    /// <summary>The checksum extension's own status, "Checksum Mismatch".</summary>
    public const int ChecksumMismatch = 460;

    // They stand in sentences that are said: a constant in a hole is no hole (docs/texts.md).
    public static string Version => "1.0.0";
    public static string ContentType => "application/offset+octet-stream";
    public static string Algorithms => "sha1,sha256";

    /// <summary>Says until when the upload may be gone on with, as an HTTP date (RFC 9110, 5.6.7); nothing when it does not expire.</summary>
    public static void SetExpires(HttpResponse response, DateTimeOffset? at)
    {
        if (at is { } instant)
            response.Headers[Expires] = instant.ToString("R", CultureInfo.InvariantCulture);
    }

    /// <summary>A whole number from 0; null when the header is absent or anything else.</summary>
    public static long? Number(HttpRequest request, string header) =>
        long.TryParse(request.Headers[header], NumberStyles.None, CultureInfo.InvariantCulture, out var value) ? value : null;

    public static bool IsPiece(HttpRequest request) =>
        request.ContentType?.Split(';')[0].Trim().Equals(ContentType, StringComparison.OrdinalIgnoreCase) == true;

    /// <summary>
    /// Pairs of key and base64 value, comma-separated; a key alone has an empty value. Null when it is not that, or not ASCII, as the protocol asks: it is
    /// given back in a header, and no answer with such a one could be sent.
    /// </summary>
    public static Dictionary<string, string>? ReadMetadata(string? header)
    {
        if (header?.AsSpan().ContainsAnyExceptInRange(' ', '~') == true)
            return null;
        var values = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var pair in (header ?? "").Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            var parts = pair.Split(' ');
            if (parts.Length > 2 || parts[0].Length == 0 || Decode(parts.ElementAtOrDefault(1) ?? "") is not { } value || !values.TryAdd(parts[0], value))
                return null;
        }
        return values;
    }

    /// <summary>"sha1 BASE64"; false when it is there but can't be used.</summary>
    public static bool TryReadChecksum(HttpRequest request, out PieceChecksum? checksum)
    {
        checksum = null;
        var header = request.Headers[Checksum].ToString();
        if (header.Length == 0)
            return true;
        var parts = header.Split(' ');
        HashAlgorithmName? algorithm = parts[0] switch { "sha1" => HashAlgorithmName.SHA1, "sha256" => HashAlgorithmName.SHA256, _ => null };
        var value = new byte[64];
        if (algorithm is null || parts.Length != 2 || !Convert.TryFromBase64String(parts[1], value, out var length))
            return false;
        checksum = new PieceChecksum(algorithm.Value, value[..length]);
        return true;
    }

    private static string? Decode(string base64)
    {
        var bytes = new byte[base64.Length];
        try
        {
            return Convert.TryFromBase64String(base64, bytes, out var length)
                ? new UTF8Encoding(false, throwOnInvalidBytes: true).GetString(bytes, 0, length)
                : null;
        }
        catch (DecoderFallbackException)
        {
            return null;
        }
    }
}
