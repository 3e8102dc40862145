using System.Text;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Endpoints.Serving;
using LibraryShelf.Web.Pages.Workbench.Releases;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Endpoints;

/// <summary>A check sheet's files, and its recordings to listen to; for the maker alone.</summary>
internal static class SheetEndpoints
{
    public static void MapSheets(this WebApplication app)
    {
        var release = app.MapGroup("/workbench/releases/{id:long}").RequireAuthorization(Policies.Maker);
        release.MapGet("/sheet.csv", (long id, [FromServices] ReadSheet read, CancellationToken cancellationToken) =>
            FileAsync(id, read, "csv", "text/csv; charset=utf-8", SheetFiles.Csv, cancellationToken));
        release.MapGet("/sheet.json", (long id, [FromServices] ReadSheet read, CancellationToken cancellationToken) =>
            FileAsync(id, read, "json", "application/json", SheetFiles.Json, cancellationToken));
        release.MapGet("/recordings/{sha256}", PlayAsync);
    }

    private static async Task<IResult> FileAsync(
        long id, ReadSheet read, string extension, string type, Func<SheetReading, string> write, CancellationToken cancellationToken)
    {
        if (await read.RunAsync(id, cancellationToken) is not { } sheet)
            return Refusals.NoSuchRelease();
        if (!sheet.IsCurrent)
            return Refusals.Say(StatusCodes.Status409Conflict, T($"Version {sheet.Release.Number} has no sheet now: it was not checked since its folder last changed. Check it, then ask again."));
        return Results.File(Encoding.UTF8.GetBytes(write(sheet)), type, $"{sheet.Release.Library.Slug}-{sheet.Release.Number}-sheet.{extension}");
    }

    /// <summary>
    /// A recording's bytes as they were sent, with ranges, so that a player can begin anywhere. Its name and type are told from its path, never
    /// sniffed.
    /// </summary>
    private static async Task<IResult> PlayAsync(
        long id, string sha256, HttpResponse response, [FromServices] FindRecording find, [FromServices] IBlobStore blobs, CancellationToken cancellationToken)
    {
        if (sha256.Length != 64 || !sha256.All(char.IsAsciiHexDigitLower)
            || await find.RunAsync(id, sha256, cancellationToken) is not { } path || !blobs.Has(sha256))
            return Results.NotFound();
        response.Headers.ContentDisposition = ContentDisposition.Inline(Path.GetFileName(path));
        response.Headers.CacheControl = "private, no-cache";
        var tag = new EntityTagHeaderValue($"\"{sha256}\"");
        return blobs.LocalPath(sha256) is { } file
            ? Results.File(file, RecordingType.Of(path), entityTag: tag, enableRangeProcessing: true)
            : Results.File(blobs.Open(sha256), RecordingType.Of(path), entityTag: tag, enableRangeProcessing: true);
    }
}
