using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Endpoints;

/// <summary>The files of a box's versions by hash, "libraryshelf/versions/1"; for everyone; with those given early to who asks.</summary>
internal static class VersionEndpoints
{
    public static void MapVersions(this WebApplication app) => app.MapGet("/boxes/{slug}/versions.json", ReadAsync);

    private static async Task<IResult> ReadAsync(
        string slug, HttpRequest request, HttpResponse response, [FromServices] ReadVersions read, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(slug, request.HttpContext.User.PersonId(), cancellationToken) is not { } document)
            return Refusals.Say(StatusCodes.Status404NotFound, T("There is no such box on this shelf."));
        // A person's own may hold versions given to them early: no cache between may keep it for others.
        response.Headers.CacheControl = request.HttpContext.User.PersonId() is null ? "public, max-age=60" : "private, max-age=60";
        response.Headers.Vary = $"{HeaderNames.AcceptEncoding}, {HeaderNames.Cookie}";
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
