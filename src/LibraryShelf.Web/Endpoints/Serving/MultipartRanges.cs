using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>The frame of a multipart/byteranges body (RFC 9110 §14.6): what stands before each part and after the last.</summary>
internal sealed class MultipartRanges
{
    private readonly string _boundary = RandomNumberGenerator.GetHexString(32, lowercase: true);
    private readonly string _contentType;
    private readonly long _length;

    public MultipartRanges(IReadOnlyList<ByteRange> ranges, string contentType, long length)
    {
        (_contentType, _length) = (contentType, length);
        ContentLength = End.Length + ranges.Sum(r => Before(r).Length + r.Count);
    }

    public string ContentType => $"multipart/byteranges; boundary={_boundary}";

    /// <summary>Bytes of the whole body, parts and frame.</summary>
    public long ContentLength { get; }

    public byte[] Before(ByteRange range) => Encoding.ASCII.GetBytes(
        $"\r\n--{_boundary}\r\nContent-Type: {_contentType}\r\nContent-Range: {Header(range, _length)}\r\n\r\n");

    public byte[] End => Encoding.ASCII.GetBytes($"\r\n--{_boundary}--\r\n");

    /// <summary>The Content-Range of one range (§14.4): both ends included.</summary>
    public static string Header(ByteRange range, long length) =>
        string.Create(System.Globalization.CultureInfo.InvariantCulture, $"bytes {range.From}-{range.To - 1}/{length}");
}
