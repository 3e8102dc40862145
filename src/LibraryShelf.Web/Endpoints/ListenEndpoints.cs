using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Pages.Shelf;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// What a box is heard by. At the address that pages write (<see cref="ListenAddress"/>) a file is kept for good, because its address says which bytes it is; at any
/// other a cache asks again.
/// </summary>
internal static class ListenEndpoints
{
    public static void MapListening(this WebApplication app)
    {
        app.MapGet("/boxes/{slug}/{number}/listen/{path}", PlayAsync);
        app.MapGet("/boxes/{slug}/music.opus", (string slug, HttpContext context, [FromServices] OpenMusic open, [FromServices] IBlobStore blobs, CancellationToken cancellationToken) =>
            MusicAsync(slug, "music.opus", context, open, blobs, cancellationToken));
        app.MapGet("/boxes/{slug}/music.wav", (string slug, HttpContext context, [FromServices] OpenMusic open, [FromServices] IBlobStore blobs, CancellationToken cancellationToken) =>
            MusicAsync(slug, "music.wav", context, open, blobs, cancellationToken));
    }

    private static async Task<IResult> PlayAsync(
        string slug, string number, string path, HttpContext context, [FromServices] OpenListening open, [FromServices] IBlobStore blobs, CancellationToken cancellationToken) =>
        Answer(await open.RunAsync(slug, number, path, context.User.PersonId(), cancellationToken), path, context, blobs);

    private static async Task<IResult> MusicAsync(string slug, string name, HttpContext context, OpenMusic open, IBlobStore blobs, CancellationToken cancellationToken) =>
        Answer(await open.RunAsync(slug, name.EndsWith(".wav", StringComparison.Ordinal), cancellationToken) is { } sha256 ? new HeardFile(sha256, IsForAll: true) : null, name, context, blobs);

    /// <summary>With ranges, so that a player can begin anywhere.</summary>
    private static IResult Answer(HeardFile? file, string name, HttpContext context, IBlobStore blobs)
    {
        if (file is null || !blobs.Has(file.Sha256))
        {
            context.Response.Headers.CacheControl = "no-store";
            return Refusals.Say(StatusCodes.Status404NotFound, T("There is nothing like this to listen to on this shelf."));
        }
        var isThisOne = context.Request.Query["v"] == ListenAddress.Mark(file.Sha256);
        context.Response.Headers.CacheControl = (file.IsForAll ? "public" : "private") + (isThisOne ? ", max-age=31536000, immutable" : ", no-cache");
        var tag = new EntityTagHeaderValue($"\"{file.Sha256}\"");
        return blobs.LocalPath(file.Sha256) is { } local
            ? Results.File(local, TypeOf(name), entityTag: tag, enableRangeProcessing: true)
            : Results.File(blobs.Open(file.Sha256), TypeOf(name), entityTag: tag, enableRangeProcessing: true);
    }

    /// <summary>RFC 7845 §9 for Ogg Opus.</summary>
    private static string TypeOf(string name) => Path.GetExtension(name) switch
    {
        ".opus" => "audio/ogg; codecs=opus",
        ".wav" => "audio/wav",
        ".json" => "application/json",
        _ => "application/octet-stream",
    };
}
