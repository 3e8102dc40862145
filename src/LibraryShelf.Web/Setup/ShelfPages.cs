using System.IO.Compression;
using System.Security.Cryptography;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Web.Pages.Shelf;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// The shelf's page as it was last made, compressed: visitors who are not signed in all get the same, and making it anew for each takes longer than anything
/// else they ask for. Kept by <see cref="ReadShelfStamp"/>, so that what is published stands there with the next request, and made anew each minute, because days change by the clock alone and the stamp knows nothing of what can be heard.
/// A search is made each time, and so is a choice by a word that anybody may write. Nothing on this page is secret, so that it may be compressed with what the visitor typed.
/// </summary>
internal sealed class ShelfPages(KeptPages kept, TimeProvider clock)
{
    /// <summary>How hard Brotli tries, 0 to 11: for what one visitor gets, and for what all do.</summary>
    private const int Once = 5, Often = 7;

    /// <summary>What a request came to; <paramref name="Tag"/> is null when it is something else than the page, to be answered as it is.</summary>
    private sealed record Made(byte[] Body, string? Tag);

    public async Task ServeAsync(HttpContext context, RequestDelegate next)
    {
        var encoding = EncodingFor(context.Request.GetTypedHeaders().AcceptEncoding);
        if (!IsOfAll(context))
        {
            await WriteAsync(context, await MakeAsync(context, next, encoding, Once), encoding);
            return;
        }
        var services = context.RequestServices;
        var stamp = await services.GetRequiredService<ReadShelfStamp>().RunAsync(context.RequestAborted);
        var key = $"{encoding} {services.GetRequiredService<PublicAddress>().ForMail(context.Request)} {ShelfAddress.Write(ChoiceOf(context.Request.Query))}";
        while (true)
        {
            if (kept.Find(key, stamp) is { } page)
            {
                services.GetRequiredService<Looking>().CameFrom(context, 0);
                await WriteAsync(context, new Made(page.Body, page.Tag), encoding);
                return;
            }
            if (kept.TryBegin(key, out var others))
                break;
            await others.WaitAsync(context.RequestAborted);
        }
        // Ended before anything is sent: nobody is to wait for this client's line.
        Made? made = null;
        try
        {
            made = await MakeAsync(context, next, encoding, Often);
        }
        finally
        {
            kept.End(key, made?.Tag is { } tag ? new KeptPage(stamp, clock.GetUtcNow(), made.Body, tag) : null);
        }
        await WriteAsync(context, made, encoding);
    }

    /// <summary>Everybody gets the same, and there are not more of them than the page offers choices.</summary>
    private static bool IsOfAll(HttpContext context) =>
        context.User.Identity?.IsAuthenticated != true && !context.Request.Query.ContainsKey("find") && ChoiceOf(context.Request.Query) is { Sound: "", Opens: "" };

    private static ShelfWish ChoiceOf(IQueryCollection query) =>
        ShelfAddress.Read(query["show"], null, query["order"], query["sound"], query["keys"], query["size"], query["opens"]);

    private static async Task<Made> MakeAsync(HttpContext context, RequestDelegate next, string encoding, int effort)
    {
        var answer = context.Response.Body;
        using var page = new MemoryStream();
        context.Response.Body = page;
        try
        {
            await next(context);
        }
        finally
        {
            context.Response.Body = answer;
        }
        if (context.Response.StatusCode != StatusCodes.Status200OK || context.Response.Headers.ContainsKey(HeaderNames.SetCookie))
            return new Made(page.ToArray(), null);
        var body = Compressed(page, encoding, effort);
        return new Made(body, $"\"{Convert.ToHexStringLower(SHA256.HashData(body).AsSpan(0, 16))}\"");
    }

    private static async Task WriteAsync(HttpContext context, Made made, string encoding)
    {
        var headers = context.Response.Headers;
        var (body, tag) = made;
        if (tag is null)
        {
            await context.Response.Body.WriteAsync(body, context.RequestAborted);
            return;
        }
        (headers.ETag, headers.CacheControl, headers.Vary) = (tag, "private, no-cache", "Accept-Encoding, Cookie");
        if (context.Request.Headers.IfNoneMatch == tag)
        {
            (context.Response.StatusCode, context.Response.ContentType) = (StatusCodes.Status304NotModified, null);
            return;
        }
        context.Response.ContentType = "text/html; charset=utf-8";
        context.Response.ContentLength = body.Length;
        if (encoding.Length > 0)
            headers.ContentEncoding = encoding;
        if (!HttpMethods.IsHead(context.Request.Method))
            await context.Response.Body.WriteAsync(body, context.RequestAborted);
    }

    private static string EncodingFor(IList<StringWithQualityHeaderValue> accepted) =>
        Array.Find(["br", "gzip"], name => accepted.Any(a => a.Value.Equals(name, StringComparison.OrdinalIgnoreCase) && a.Quality is null or > 0)) ?? "";

    private static byte[] Compressed(MemoryStream page, string encoding, int effort)
    {
        if (encoding.Length == 0)
            return page.ToArray();
        using var body = new MemoryStream();
        using (Stream pressed = encoding == "br" ? new BrotliStream(body, new BrotliCompressionOptions { Quality = effort }, leaveOpen: true) : new GZipStream(body, CompressionLevel.Optimal, leaveOpen: true))
            page.WriteTo(pressed);
        return body.ToArray();
    }
}
