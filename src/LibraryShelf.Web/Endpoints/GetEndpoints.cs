using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Endpoints.Serving;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// The bytes. A link carries its right with it: any client may use it, with no cookie. Everything under /get/ comes here, so that
/// a link that lost a piece on the way gets the same page as any other bad one.
/// </summary>
internal static class GetEndpoints
{
    public static void MapDownloads(this WebApplication app) =>
        app.MapMethods("/get/{**link}", [HttpMethods.Get, HttpMethods.Head], GetAsync).AllowAnonymous();

    private static async Task GetAsync(
        HttpContext context, [FromServices] OpenLink open, [FromServices] StartDownload start,
        [FromServices] EventQueue queue, [FromServices] IBlobStore blobs, [FromServices] ILogger<Handover> log)
    {
        var outcome = await open.RunAsync(PathAndQuery(context), context.RequestAborted);
        if (outcome is not OpenLinkOutcome.Open opened)
        {
            await RefusedLink.WriteAsync(context, (OpenLinkOutcome.Refused)outcome);
            return;
        }
        var request = context.Request;
        var plan = ServingPlan.For(request.Method, request.Headers, ArchiveResponse.ETag(opened.Archive), opened.Layout.Length);
        using var handover = new Handover(queue, opened.Download.Id, opened.Use, log);
        if (plan.HasBytes && HttpMethods.IsGet(request.Method)
            && await BeginAsync(plan, opened, handover, start, context.RequestAborted) is { } trouble)
        {
            await RefusedLink.WriteAsync(context, new(trouble, opened.Download.Id));
            return;
        }
        await SendAsync(context, plan, opened, blobs, handover);
    }

    /// <returns>What came between since the link was opened; null when bytes may go out.</returns>
    private static async Task<LinkTrouble?> BeginAsync(
        ServingPlan plan, OpenLinkOutcome.Open opened, Handover handover, StartDownload start, CancellationToken cancellationToken)
    {
        if (handover.TryBegin(plan.Ranges.Sum(r => r.Count)) is { } tooMuch) return tooMuch;
        var isFirst = opened.Download.StartedAt is null;
        if (isFirst && await start.RunAsync(opened.Download, cancellationToken) is { } trouble) return trouble;
        // The first request can't be a resumption, whatever it says.
        if (plan.ResumedFrom is { } from && !isFirst) handover.AddEvidence(from);
        return null;
    }

    private static async Task SendAsync(
        HttpContext context, ServingPlan plan, OpenLinkOutcome.Open opened, IBlobStore blobs, Handover handover)
    {
        try
        {
            await ArchiveResponse.WriteAsync(context, plan, opened, blobs, handover);
        }
        catch (Exception broken) when (context.RequestAborted.IsCancellationRequested && broken is OperationCanceledException or IOException)
        {
            // People stop downloads and lose connections; that is no fault, and what was handed over counts.
        }
        finally
        {
            handover.Finish();
        }
    }

    /// <summary>The request's path and query as they came over the wire, without host (RFC 9112 §3.2.2 absolute form) and path base.</summary>
    private static string PathAndQuery(HttpContext context)
    {
        var target = context.Features.Get<IHttpRequestFeature>()?.RawTarget ?? "";
        if (!target.StartsWith('/') && target.IndexOf(Uri.SchemeDelimiter, StringComparison.Ordinal) is >= 0 and var scheme)
            target = target.IndexOf('/', scheme + Uri.SchemeDelimiter.Length) is >= 0 and var path ? target[path..] : "";
        var prefix = context.Request.PathBase.ToUriComponent();
        return prefix.Length > 0 && target.StartsWith(prefix, StringComparison.Ordinal) ? target[prefix.Length..] : target;
    }
}
