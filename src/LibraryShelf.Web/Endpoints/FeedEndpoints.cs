using System.Security.Cryptography;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// What is told to feed readers and search engines. Addresses are absolute where we are sure of our own (<see cref="PublicAddress.ForMail"/>); else
/// a feed's are relative, which RFC 4287 allows, and there is no sitemap, which can't be without.
/// </summary>
internal static class FeedEndpoints
{
    /// <summary>Readers look whether a feed is there before they fetch it (RFC 9110 §9.3.2).</summary>
    private static readonly string[] Look = [HttpMethods.Get, HttpMethods.Head];

    public static void MapFeeds(this WebApplication app)
    {
        app.MapMethods("/feed.atom", Look, (HttpContext context, [FromServices] ReadFeed read, [FromServices] PublicAddress address, CancellationToken cancellationToken) =>
            FeedAsync(null, context, read, address, cancellationToken));
        app.MapMethods("/boxes/{slug}/feed.atom", Look, FeedAsync);
        app.MapMethods("/sitemap.xml", Look, SitemapAsync);
        app.MapMethods("/robots.txt", Look, Robots);
    }

    private static async Task<IResult> FeedAsync(
        string? slug, HttpContext context, [FromServices] ReadFeed read, [FromServices] PublicAddress address, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(slug, cancellationToken) is not { } feed)
            return Results.NotFound();
        var body = AtomWriter.Write(feed, address.ForMail(context.Request) ?? context.Request.PathBase, context.Request.Path);
        return Cached(context, body, "application/atom+xml; charset=utf-8", feed.ChangedAt);
    }

    private static async Task<IResult> SitemapAsync(
        HttpContext context, [FromServices] ReadShelf read, [FromServices] PublicAddress address, CancellationToken cancellationToken)
    {
        if (address.ForMail(context.Request) is not { } home)
            return Results.Text(T("There is no sitemap while the shelf is not told its own address. Set Shelf:PublicUrl.") + "\n", statusCode: StatusCodes.Status404NotFound);
        var shelf = await read.RunAsync(new ShelfWish(), cancellationToken);
        return Cached(context, SitemapWriter.Write(home, shelf.Boxes), "application/xml; charset=utf-8", null);
    }

    /// <summary>What is for signed-in people, and links that are somebody's, is no engine's business.</summary>
    private static IResult Robots(HttpRequest request, [FromServices] PublicAddress address) => Results.Text(
        "User-agent: *\nDisallow: /get/\nDisallow: /wait/\nDisallow: /mine\nDisallow: /sign-in\nDisallow: /sign-out\nDisallow: /workbench\nDisallow: /api/\nDisallow: /uploads\n"
        + (address.ForMail(request) is { } home ? $"\nSitemap: {home}/sitemap.xml\n" : ""));

    /// <summary>With what a reader needs to ask only for news (RFC 9110 §13): a tag of the very bytes, and when something last changed.</summary>
    private static IResult Cached(HttpContext context, byte[] body, string type, DateTimeOffset? changed)
    {
        context.Response.Headers.CacheControl = "public, max-age=300";
        var tag = new EntityTagHeaderValue($"\"{Convert.ToHexStringLower(SHA256.HashData(body).AsSpan(0, 16))}\"");
        return Results.Bytes(body, type, lastModified: changed, entityTag: tag);
    }
}
