using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Shelf;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// The pictures of a version, drawn from its measurements: the keyprint, the small one for lists, the spine as it stands and as it lies. At the address that pages write (<see cref="KeyprintAddress"/>)
/// they are kept for good, because what is sealed never changes; at any other a cache asks again.
/// </summary>
internal static class KeyprintEndpoints
{
    public static void MapKeyprints(this WebApplication app)
    {
        app.MapGet("/boxes/{slug}/{number}/keyprint.svg", (string slug, string number, HttpContext context, [FromServices] ReadKeyprint read, CancellationToken cancellationToken) =>
            AnswerAsync(slug, number, context, read, v => (KeyprintAddress.Mark(v.Paint), KeyprintDrawing.Large(v.Print, PaintColours.Of(v.Paint))), isBox: false, cancellationToken));
        app.MapGet("/boxes/{slug}/{number}/mark.svg", (string slug, string number, HttpContext context, [FromServices] ReadKeyprint read, CancellationToken cancellationToken) =>
            AnswerAsync(slug, number, context, read, v => (KeyprintAddress.Mark(v.Paint), KeyprintDrawing.Small(v.Print, PaintColours.Of(v.Paint))), isBox: false, cancellationToken));
        app.MapGet("/boxes/{slug}/{number}/spine.svg", (string slug, string number, int? width, HttpContext context, [FromServices] ReadKeyprint read, CancellationToken cancellationToken) =>
            AnswerAsync(slug, number, context, read, v => (KeyprintAddress.Mark(v.Paint, v.IsTied), SpineDrawing.Of(v.Print, PaintColours.Of(v.Paint),
                Math.Clamp(width ?? SpineDrawing.WidthOf(v.Recordings), SpineDrawing.Narrowest, SpineDrawing.Widest), v.Keys, v.IsTied)), isBox: true, cancellationToken));
        app.MapGet("/boxes/{slug}/{number}/pile.svg", (string slug, string number, HttpContext context, [FromServices] ReadKeyprint read, CancellationToken cancellationToken) =>
            AnswerAsync(slug, number, context, read, v => (KeyprintAddress.Mark(v.Paint, v.IsTied), PileDrawing.Of(v.Print, PaintColours.Of(v.Paint), v.Keys, v.Recordings, v.IsTied)), isBox: true, cancellationToken));
        app.MapGet("/boxes/{slug}/{number}/share.png", ShareAsync);
        app.MapGet("/share.png", ShareShelfAsync);
    }

    private static async Task<IResult> ShareAsync(
        string slug, string number, HttpContext context, [FromServices] ReadKeyprint read, [FromServices] ShopView shops, [FromServices] SharePictures pictures, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(slug, number, context.User.PersonId(), cancellationToken) is not { HasPicture: true } version)
            return NoPicture(context);
        var words = SharePictures.WordsOf(version, (await shops.GetAsync(cancellationToken)).Name);
        var mark = KeyprintAddress.Mark(version.Paint, words);
        return Answer(context, version.IsForAll, context.Request.Query["v"] == mark, pictures.Of(version, words, $"{slug} {number} {mark}"), "image/png");
    }

    private static async Task<IResult> ShareShelfAsync(
        HttpContext context, [FromServices] ReadShelf readShelf, [FromServices] ReadKeyprint read, [FromServices] ShopView shops, [FromServices] SharePictures pictures, CancellationToken cancellationToken)
    {
        if (ShelfShare.Of(await readShelf.RunAsync(new(), cancellationToken), (await shops.GetAsync(cancellationToken)).Name) is not { } share)
            return NoPicture(context);
        var boxes = new List<VersionKeyprint>();
        foreach (var box in share.Boxes)
        {
            // One that went from the shelf at this moment is missing.
            if (await read.RunAsync(box.Slug, box.Latest.Row.Number, personId: null, cancellationToken) is { } version)
                boxes.Add(version);
        }
        if (boxes.Count == 0)
            return NoPicture(context);
        // A box of which nothing can be drawn yet stands there without reeds until it can.
        var drawn = string.Concat(boxes.Select(b => b.HasPicture ? '1' : '0'));
        var body = pictures.Of($"{share.Address} {drawn}", () => ShelfSharePicture.Of(
            [.. boxes.Select(b => new ShareBox(b.Print, PaintColours.Of(b.Paint), b.Title, b.Keys, b.Recordings, b.IsTied))], share.Words));
        return Answer(context, isForAll: true, context.Request.Query["v"] == share.Mark && drawn.Length == share.Boxes.Count && !drawn.Contains('0', StringComparison.Ordinal), body, "image/png");
    }

    private static IResult NoPicture(HttpContext context)
    {
        context.Response.Headers.CacheControl = "no-store";
        return Refusals.Say(StatusCodes.Status404NotFound, T("There is no such picture on this shelf."));
    }

    private static IResult Answer(HttpContext context, bool isForAll, bool isThisOne, byte[] body, string type)
    {
        context.Response.Headers.CacheControl = (isForAll ? "public" : "private") + (isThisOne ? ", max-age=31536000, immutable" : ", no-cache");
        return Results.Bytes(body, type, entityTag: new EntityTagHeaderValue($"\"{Convert.ToHexStringLower(SHA256.HashData(body).AsSpan(0, 16))}\""));
    }

    private static async Task<IResult> AnswerAsync(
        string slug, string number, HttpContext context, ReadKeyprint read, Func<VersionKeyprint, (string Mark, string Svg)> draw, bool isBox, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(slug, number, context.User.PersonId(), cancellationToken) is not { } version || !(version.HasPicture || isBox))
            return NoPicture(context);
        var (mark, svg) = draw(version);
        // A box of which nothing can be drawn yet stands there without reeds until it can.
        return Answer(context, version.IsForAll, context.Request.Query["v"] == mark && version.HasPicture, Encoding.UTF8.GetBytes(svg), "image/svg+xml");
    }
}
