using System.IO.Compression;
using System.Security.Cryptography;
using LibraryShelf.Core.Drops;
using LibraryShelf.Web.Pages.Shelf;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// The shelf's page as it was last made, kept in memory and compressed: visitors who are not signed in all get the same, and making it anew for each takes longer than anything
/// else they ask for. Kept by <see cref="ReadShelfStamp"/>, so that what is published stands there with the next request, and made anew each minute, because days change by the clock alone.
/// A search is made each time. Nothing on this page is secret, so that it may be compressed with what the visitor typed.
/// </summary>
internal sealed class ShelfPages(TimeProvider clock) : IDisposable
{
    /// <summary>Choices, orders and encodings together; when it is full everything goes.</summary>
    private const int Most = 200;

    /// <summary>How hard Brotli tries, 0 to 11: for what one visitor gets, and for what all do.</summary>
    private const int Once = 5, Often = 7;

    private static readonly TimeSpan Fresh = TimeSpan.FromMinutes(1);

    private readonly Dictionary<string, Kept> _kept = new(StringComparer.Ordinal);
    private readonly Lock _lock = new();
    private readonly SemaphoreSlim _making = new(1);

    private sealed record Kept(string Stamp, DateTimeOffset MadeAt, byte[] Body, string Tag);

    public async Task ServeAsync(HttpContext context, RequestDelegate next)
    {
        var encoding = EncodingFor(context.Request.GetTypedHeaders().AcceptEncoding);
        if (context.User.Identity?.IsAuthenticated == true || context.Request.Query.ContainsKey("find"))
        {
            if (await MakeAsync(context, next, encoding, Once) is { } made)
                await WriteAsync(context, made.Body, made.Tag, encoding);
            return;
        }
        var services = context.RequestServices;
        var stamp = await services.GetRequiredService<ReadShelfStamp>().RunAsync(context.RequestAborted);
        var key = $"{encoding} {services.GetRequiredService<PublicAddress>().ForMail(context.Request)} {ChoiceOf(context.Request.Query)}";
        var known = Find(key, stamp);
        // One makes it anew. Meanwhile the others get what is a little old, and wait when something has changed.
        if (known is not null && (IsFresh(known) || _making.CurrentCount == 0))
        {
            services.GetRequiredService<Looking>().CameFrom(context, 0);
            await WriteAsync(context, known.Body, known.Tag, encoding);
            return;
        }
        await _making.WaitAsync(context.RequestAborted);
        try
        {
            if ((Find(key, stamp) is not { } there || !IsFresh(there)) && await MakeAsync(context, next, encoding, Often) is { } made)
            {
                Keep(key, new Kept(stamp, clock.GetUtcNow(), made.Body, made.Tag));
                await WriteAsync(context, made.Body, made.Tag, encoding);
                return;
            }
        }
        finally
        {
            _making.Release();
        }
        if (!context.Response.HasStarted && Find(key, stamp) is { } others)
            await WriteAsync(context, others.Body, others.Tag, encoding);
    }

    public void Dispose() => _making.Dispose();

    /// <summary>As the page reads it, so that no word it does not know makes another copy.</summary>
    private static string ChoiceOf(IQueryCollection query) =>
        ShelfAddress.Write(ShelfAddress.Read(query["show"], null, query["order"], query["sound"], query["keys"], query["size"], query["opens"]));

    private Kept? Find(string key, string stamp)
    {
        lock (_lock)
            return _kept.TryGetValue(key, out var kept) && kept.Stamp == stamp ? kept : null;
    }

    private bool IsFresh(Kept kept) => clock.GetUtcNow() - kept.MadeAt < Fresh;

    private void Keep(string key, Kept kept)
    {
        lock (_lock)
        {
            if (_kept.Count >= Most)
                _kept.Clear();
            _kept[key] = kept;
        }
    }

    /// <summary>Null when it came to something else than the page: that has been answered as it is.</summary>
    private static async Task<(byte[] Body, string Tag)?> MakeAsync(HttpContext context, RequestDelegate next, string encoding, int effort)
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
        {
            page.Position = 0;
            await page.CopyToAsync(answer, context.RequestAborted);
            return null;
        }
        var body = Compressed(page, encoding, effort);
        return (body, $"\"{Convert.ToHexStringLower(SHA256.HashData(body).AsSpan(0, 16))}\"");
    }

    private static async Task WriteAsync(HttpContext context, byte[] body, string tag, string encoding)
    {
        var headers = context.Response.Headers;
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
