using System.Globalization;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Storage;
using Microsoft.AspNetCore.Http.Features;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>Writes the answer that a <see cref="ServingPlan"/> names: status, fields, bytes.</summary>
internal static class ArchiveResponse
{
    private const string ContentType = "application/zip";

    /// <summary>The archive's strong entity tag, with its quotes.</summary>
    public static string ETag(Archive archive) => $"\"{archive.RecipeSha256}\"";

    public static async Task WriteAsync(
        HttpContext context, ServingPlan plan, OpenLinkOutcome.Open open, IBlobStore blobs, Handover handover, DownloadTurn? turn)
    {
        var response = context.Response;
        response.StatusCode = plan.Status;
        WriteFields(response.Headers, open.Archive);
        var length = open.Layout.Length;
        if (plan.Status == StatusCodes.Status416RangeNotSatisfiable)
            response.Headers.ContentRange = string.Create(CultureInfo.InvariantCulture, $"bytes */{length}");
        if (!plan.HasBytes) return;

        response.Headers.ContentDisposition = ContentDisposition.Attachment(open.Archive.FileName);
        // Of the whole archive, also beside a part of it (RFC 9530 §3).
        if (open.Archive.Sha256 is { } digest)
            response.Headers["Repr-Digest"] = $"sha-256=:{Convert.ToBase64String(Convert.FromHexString(digest))}:";
        var parts = plan.Ranges.Count > 1 ? new MultipartRanges(plan.Ranges, ContentType, length) : null;
        response.ContentType = parts?.ContentType ?? ContentType;
        response.ContentLength = parts?.ContentLength ?? plan.Ranges[0].Count;
        if (parts is null && plan.Status == StatusCodes.Status206PartialContent)
            response.Headers.ContentRange = MultipartRanges.Header(plan.Ranges[0], length);
        if (HttpMethods.IsHead(context.Request.Method)) return;

        var feature = context.Features.GetRequiredFeature<IHttpResponseBodyFeature>();
        feature.DisableBuffering();
        var body = new ArchiveBody(open.Layout, blobs, handover, turn, feature.Writer);
        // A client that has gone must not look to the server like an answer cut short by mistake.
        if (!await SendAsync(plan.Ranges, parts, body, context.RequestAborted)) context.Abort();
        else if (plan.Ranges.Any(r => r.To == length)) turn?.Finish();
    }

    private static void WriteFields(IHeaderDictionary headers, Archive archive)
    {
        headers.ETag = ETag(archive);
        headers.AcceptRanges = "bytes";
        headers.CacheControl = "private, no-store";
        headers.XContentTypeOptions = "nosniff";
        // Else a proxy swallows a gigabyte at once, and "handed over" is a lie.
        headers["X-Accel-Buffering"] = "no";
    }

    /// <returns>False when the client went away meanwhile.</returns>
    private static async Task<bool> SendAsync(
        IReadOnlyList<ByteRange> ranges, MultipartRanges? parts, ArchiveBody body, CancellationToken cancellationToken)
    {
        foreach (var range in ranges)
        {
            if (parts is not null && !await body.SendFrameAsync(parts.Before(range), cancellationToken)) return false;
            if (!await body.SendAsync(range, cancellationToken)) return false;
        }
        return parts is null || await body.SendFrameAsync(parts.End, cancellationToken);
    }
}
