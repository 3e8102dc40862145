using System.Globalization;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// tus 1.0.0: core, creation, creation-with-upload, checksum, expiration, termination. Metadata: <c>release</c> (row id), <c>path</c>,
/// <c>sha256</c> (lower-case hex, optional), <c>kind</c> (file or zip).
/// </summary>
internal static class TusEndpoints
{
    public static void MapTus(this WebApplication app)
    {
        app.MapMethods("/uploads", [HttpMethods.Options], Describe).AllowAnonymous();
        app.MapMethods("/uploads/{id}", [HttpMethods.Options], (HttpResponse response, IOptions<ShelfSettings> settings) => Describe(response, settings)).AllowAnonymous();
        var uploads = app.MapGroup("/uploads").GuardSenders().AddEndpointFilter(AgreeOnVersionAsync);
        // Bodies are as long as announced at creation; the verb that takes them stops there.
        uploads.MapPost("", CreateAsync).WithMetadata(new DisableRequestSizeLimitAttribute());
        uploads.MapMethods("/{id}", [HttpMethods.Head], StandAsync);
        uploads.MapPatch("/{id}", AppendAsync).WithMetadata(new DisableRequestSizeLimitAttribute());
        uploads.MapDelete("/{id}", EndAsync);
        uploads.MapPost("/{id}", OverrideAsync).WithMetadata(new DisableRequestSizeLimitAttribute());
    }

    private static async ValueTask<object?> AgreeOnVersionAsync(EndpointFilterInvocationContext invocation, EndpointFilterDelegate next)
    {
        var context = invocation.HttpContext;
        context.Response.Headers[TusProtocol.Resumable] = TusProtocol.Version;
        if (context.Request.Headers[TusProtocol.Resumable] == TusProtocol.Version)
            return await next(invocation);
        context.Response.Headers["Tus-Version"] = TusProtocol.Version;
        return Refusals.Say(StatusCodes.Status412PreconditionFailed, T($"This shelf speaks tus {TusProtocol.Version}; the request says another version or none."));
    }

    private static IResult Describe(HttpResponse response, IOptions<ShelfSettings> settings)
    {
        var headers = response.Headers;
        headers[TusProtocol.Resumable] = TusProtocol.Version;
        headers["Tus-Version"] = TusProtocol.Version;
        headers["Tus-Extension"] = TusProtocol.Extensions;
        headers["Tus-Checksum-Algorithm"] = TusProtocol.Algorithms;
        headers[TusProtocol.MaxSize] = settings.Value.Intake.MaxUploadBytes.ToString(CultureInfo.InvariantCulture);
        return Results.NoContent();
    }

    private static async Task<IResult> CreateAsync(
        HttpContext context, StartUpload start, AppendToUpload append, JobChain chain, IOptions<ShelfSettings> settings)
    {
        var request = context.Request;
        if (request.Headers.ContainsKey(TusProtocol.DeferLength))
            return Refusals.Say(StatusCodes.Status400BadRequest, T("This shelf needs the length at the start: send Upload-Length, not Upload-Defer-Length. Nothing was begun."));
        if (TusProtocol.Number(request, TusProtocol.Length) is not { } length)
            return Refusals.Say(StatusCodes.Status400BadRequest, T("Upload-Length is missing or is no whole number of bytes."));
        if (TusProtocol.ReadMetadata(request.Headers[TusProtocol.Metadata]) is not { } metadata || WishOf(metadata, length) is not { } wish)
            return Refusals.Say(StatusCodes.Status400BadRequest, T($"Upload-Metadata must give {Names("release", "path")} and, if at all, {Names("sha256", "kind")} (file or zip), each in base64."));
        var withBytes = request.ContentLength is > 0 || request.Headers.TransferEncoding.Count > 0;
        // Before anything is begun: a refused creation leaves nothing.
        if (withBytes && !TusProtocol.IsPiece(request))
            return WrongType();
        if (!TusProtocol.TryReadChecksum(request, out _))
            return WrongChecksum();
        var outcome = await start.RunAsync(wish with { Metadata = request.Headers[TusProtocol.Metadata].ToString() }, context.RequestAborted);
        if (outcome is not StartUploadOutcome.Started started)
            return Refused(outcome, context.Response, settings.Value.Intake.MaxUploadBytes);
        TusProtocol.SetExpires(context.Response, started.ExpiresAt);
        context.Response.Headers.Location = $"{request.PathBase}/uploads/{started.UploadId}";
        return withBytes || length == 0
            ? await TakeAsync(context, started.UploadId, 0, append, chain, StatusCodes.Status201Created)
            : Results.StatusCode(StatusCodes.Status201Created);
    }

    /// <summary>Of fields, as machines read them.</summary>
    private static string Names(params string[] names) => string.Join(", ", names);

    private static UploadWish? WishOf(Dictionary<string, string> metadata, long length)
    {
        if (!metadata.TryGetValue("release", out var release) || !long.TryParse(release, NumberStyles.None, CultureInfo.InvariantCulture, out var id))
            return null;
        if (!metadata.TryGetValue("path", out var path))
            return null;
        UploadKind? kind = metadata.GetValueOrDefault("kind", "file") switch { "file" => UploadKind.File, "zip" => UploadKind.Zip, _ => null };
        var hash = metadata.GetValueOrDefault("sha256");
        return kind is null ? null : new UploadWish(id, kind.Value, path, length, string.IsNullOrEmpty(hash) ? null : hash);
    }

    private static async Task<IResult> StandAsync(string id, HttpContext context, ReadUpload read, JobChain chain)
    {
        context.Response.Headers.CacheControl = "no-store";
        var outcome = await read.RunAsync(id, context.RequestAborted);
        var length = outcome switch
        {
            UploadOutcome.Open open => open.Length,
            UploadOutcome.Finished finished => finished.Length,
            _ => (long?)null,
        };
        if (length is not null)
        {
            context.Response.Headers[TusProtocol.Length] = length.Value.ToString(CultureInfo.InvariantCulture);
            context.Response.Headers[TusProtocol.Metadata] = outcome.Metadata;
        }
        return TusAnswers.Of(outcome, id, context.Response, chain, StatusCodes.Status200OK);
    }

    private static async Task<IResult> AppendAsync(string id, HttpContext context, AppendToUpload append, JobChain chain)
    {
        var request = context.Request;
        if (!TusProtocol.IsPiece(request))
            return WrongType();
        return TusProtocol.Number(request, TusProtocol.Offset) is { } offset
            ? await TakeAsync(context, id, offset, append, chain, StatusCodes.Status204NoContent)
            : Refusals.Say(StatusCodes.Status400BadRequest, T("Upload-Offset is missing or is no whole number of bytes."));
    }

    private static async Task<IResult> EndAsync(string id, EndUpload end, CancellationToken cancellationToken) =>
        await end.RunAsync(id, cancellationToken) switch
        {
            EndUploadOutcome.Ended => Results.NoContent(),
            EndUploadOutcome.Busy => TusAnswers.Busy(),
            _ => TusAnswers.NoSuchUpload(),
        };

    /// <summary>For networks that let only GET and POST through (protocol, "X-HTTP-Method-Override").</summary>
    private static async Task<IResult> OverrideAsync(string id, HttpContext context, AppendToUpload append, EndUpload end, JobChain chain) =>
        context.Request.Headers["X-HTTP-Method-Override"].ToString() switch
        {
            "PATCH" => await AppendAsync(id, context, append, chain),
            "DELETE" => await EndAsync(id, end, context.RequestAborted),
            _ => Results.StatusCode(StatusCodes.Status405MethodNotAllowed),
        };

    private static async Task<IResult> TakeAsync(
        HttpContext context, string id, long offset, AppendToUpload append, JobChain chain, int done)
    {
        if (!TusProtocol.TryReadChecksum(context.Request, out var checksum))
            return WrongChecksum();
        try
        {
            var outcome = await append.RunAsync(id, offset, context.Request.Body, checksum, context.RequestAborted);
            return TusAnswers.Of(outcome, id, context.Response, chain, done);
        }
        catch (Exception e) when (e is OperationCanceledException or IOException && context.RequestAborted.IsCancellationRequested)
        {
            // The sender is gone; what arrived is kept and nobody is there to be told.
            return Results.Empty;
        }
        catch (BadHttpRequestException cut)
        {
            return Refusals.Say(cut.StatusCode, T("The connection broke off. What arrived is kept; ask with HEAD and go on from there."));
        }
    }

    private static IResult Refused(StartUploadOutcome outcome, HttpResponse response, long maxBytes)
    {
        switch (outcome)
        {
            case StartUploadOutcome.NoSuchRelease:
                return Refusals.NoSuchRelease();
            case StartUploadOutcome.Closed closed:
                return Refusals.Say(StatusCodes.Status403Forbidden, closed.Message);
            case StartUploadOutcome.TooLarge tooLarge:
                response.Headers[TusProtocol.MaxSize] = maxBytes.ToString(CultureInfo.InvariantCulture);
                return Refusals.Say(StatusCodes.Status413PayloadTooLarge, tooLarge.Message);
            case StartUploadOutcome.NoRoom noRoom:
                return Refusals.Say(StatusCodes.Status507InsufficientStorage, noRoom.Message);
            case StartUploadOutcome.Refused refused:
                return Refusals.Say(StatusCodes.Status400BadRequest, refused.Message);
            default:
                throw new InvalidOperationException(outcome.ToString());
        }
    }

    private static IResult WrongChecksum() =>
        Refusals.Say(StatusCodes.Status400BadRequest, T($"Upload-Checksum must be one of {TusProtocol.Algorithms}, a space, and base64. Nothing was taken."));

    private static IResult WrongType() =>
        Refusals.Say(StatusCodes.Status415UnsupportedMediaType, T($"Bytes are sent as {TusProtocol.ContentType}. Nothing was taken."));
}
