using LibraryShelf.Core.Sealing;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Endpoints;

/// <summary>The files of a box's versions by hash, "libraryshelf/versions/1"; for everyone.</summary>
internal static class VersionEndpoints
{
    public static void MapVersions(this WebApplication app) => app.MapGet("/boxes/{slug}/versions.json", ReadAsync);

    private static async Task<IResult> ReadAsync(
        string slug, HttpRequest request, HttpResponse response, [FromServices] ReadVersions read, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(slug, cancellationToken) is not { } document)
            return Refusals.Say(StatusCodes.Status404NotFound, "There is no such box on this shelf.");
        response.Headers.CacheControl = "public, max-age=60";
        response.Headers.Vary = HeaderNames.AcceptEncoding;
        var (encoding, bytes) = Chosen(request, document);
        if (encoding is not null)
            response.Headers.ContentEncoding = encoding;
        // Weak: the same table, whatever it is packed in.
        return Results.Bytes(bytes, "application/json", entityTag: new EntityTagHeaderValue($"\"{document.Fingerprint}\"", isWeak: true));
    }

    /// <summary>The smallest form the client takes (RFC 9110 §12.5.3); a weight of 0 is a refusal.</summary>
    private static (string? Encoding, byte[] Bytes) Chosen(HttpRequest request, VersionDocument document)
    {
        var taken = request.GetTypedHeaders().AcceptEncoding.Where(e => e.Quality is not 0).Select(e => e.Value.ToString()).ToList();
        return taken.Contains("br", StringComparer.OrdinalIgnoreCase) ? ("br", document.Brotli)
            : taken.Contains("gzip", StringComparer.OrdinalIgnoreCase) ? ("gzip", document.Gzip)
            : (null, document.Plain);
    }
}
